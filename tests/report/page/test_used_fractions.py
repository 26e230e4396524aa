from dataclasses import replace

from report_cases import finding

from netsim.analysis import Analysis
from netsim.report.page.used_fractions import matrix


def test_a_cell_holds_the_worst_of_its_part_and_band(solved: Analysis) -> None:
    laid = matrix(solved.verdict)
    names = [name for name, _ in laid.bands]
    assert names == [band.name for band in solved.verdict.bands]
    row = next(row for row in laid.rows if row.label == "Tune capacitor")
    for name, cell in zip(names, row.cells, strict=True):
        own = [f for f in solved.verdict.findings if f.part == "tune_capacitor" and f.band == name]
        assert cell is not None
        numbers = [f.used_fraction for f in own if f.state == cell.state and f.used_fraction is not None]
        assert cell.used in {f"{100 * max(numbers, default=0):.3g} %", "–"}
        assert not any(f.state == "over" for f in own) or cell.state == "over"


def test_what_belongs_to_no_part_has_rows_of_its_own(solved: Analysis) -> None:
    labels = [row.label for row in matrix(solved.verdict).rows]
    assert {"Plate match", "Loaded Q", "Harmonic level", "Plate dissipation"} <= set(labels)
    assert "Network" not in labels


def test_absent_parts_are_not_fitted_and_missing_ratings_are_not_rated(solved_plain: Analysis) -> None:
    gap = finding(state="not_rated", part="load_padding", band=None, used_fraction=None, code="part_voltage")
    laid = matrix(replace(solved_plain.verdict, findings=(gap,)))
    (row,) = laid.rows
    assert (row.label, row.missing) == ("Load padding", 1)
    first, second, third = row.cells  # fitted on the first band alone
    assert first is not None
    assert (first.state, first.target) == ("not_rated", "finding-1")
    assert second is third is None


def test_cells_lead_to_where_it_is_told(solved_plain: Analysis) -> None:
    over, passed = finding(band="80 m"), finding(band="40 m", state="pass", used_fraction=0.4)
    laid = matrix(replace(solved_plain.verdict, findings=(over, passed)))
    first, second, _ = laid.rows[0].cells
    assert first is not None
    assert second is not None
    assert (first.target, second.target) == ("finding-1", "finding-2")


def test_a_finding_without_fraction_leads_only_where_it_is_over(solved_plain: Analysis) -> None:
    bare = finding(band="80 m", state="pass", used_fraction=None, code="choke_resonance")
    number = finding(band="80 m", state="pass", used_fraction=0.3)
    laid = matrix(replace(solved_plain.verdict, findings=(bare, number)))
    assert laid.rows[0].cells[0] is not None
    assert laid.rows[0].cells[0].used == "30.0 %"


def test_operating_points_are_named_in_the_cell(solved_plain: Analysis) -> None:
    made = finding(band="80 m", operating_point="carrier")
    laid = matrix(replace(solved_plain.verdict, findings=(made,)))
    assert laid.rows[0].cells[0] is not None
    assert laid.rows[0].cells[0].what == "heat, carrier"


def test_a_row_is_named_without_the_condition_of_its_worst(solved_plain: Analysis) -> None:
    made = finding(band="80 m", code="plate_match", part="network", case="any_antenna")
    (row,) = matrix(replace(solved_plain.verdict, findings=(made,))).rows
    assert row.label == "Plate match"
    assert row.cells[0] is not None
    assert row.cells[0].what == "any antenna"
