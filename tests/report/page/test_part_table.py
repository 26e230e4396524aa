from dataclasses import replace

import pytest
from report_cases import finding

from netsim.analysis import Analysis
from netsim.report.page.part_table import part_table, worst_by_part


def rows_of(solved: Analysis, index: int) -> list[int]:
    return [int(row) for row in list(solved.solved.bands())[index][2]]


def amperes(text: str) -> float:
    number, unit, _ = text.split(" ")
    return float(number) * {"A": 1.0, "mA": 1e-3, "µA": 1e-6}[unit]


def test_parts_are_those_of_the_band_and_values_the_highest(solved: Analysis) -> None:
    for index, band in enumerate(solved.verdict.bands):
        table = part_table(solved, index, rows_of(solved, index))
        names = [row.anchor.partition("-")[2].partition("-")[2] for row in table]
        there = [name for name in band.points[0].parts if band.points[0].parts[name] is not None]
        assert names == there
        for row, name in zip(table, names, strict=True):
            stresses = [s for point in band.points if (s := point.parts[name]) is not None]
            highest = max(s.current_rms_ampere for s in stresses)
            voltage, _, unloaded_voltage, current, *_ = row.carried
            assert amperes(current) == pytest.approx(highest, rel=6e-3)
            assert voltage.endswith(" pk")
            assert unloaded_voltage.endswith(" pk")
            assert current.endswith(" rms")


def test_values_that_vary_are_given_from_first_to_last(solved_plain: Analysis) -> None:
    table = {row.label: row.value for row in part_table(solved_plain, 0, rows_of(solved_plain, 0))}
    points = solved_plain.verdict.bands[0].points
    assert table["Coil"] == "11.2 µH"
    assert table["Suppressor"] == "60.0 nH ∥ 47.0 Ω"
    assert table["Tune padding"] == "50.0 pF"
    assert table["Tune capacitor"] == (
        f"{points[0].tune_farad * 1e12:.3g} pF to {points[-1].tune_farad * 1e12:.3g} pF"
    )


def test_the_verdict_is_the_worst_of_the_part(solved_plain: Analysis) -> None:
    findings = (
        finding(band="80 m", state="close", used_fraction=None, code="choke_resonance"),
        finding(band="80 m", state="close", used_fraction=0.95, operating_point="carrier"),
        finding(band="80 m", part="coil", state="not_rated", used_fraction=None),
    )
    changed = replace(solved_plain, verdict=replace(solved_plain.verdict, findings=findings))
    assert worst_by_part(changed, "80 m")["coil"].used_fraction == 0.95
    table = {row.label: row for row in part_table(changed, 0, rows_of(changed, 0))}
    assert table["Coil"].verdict == "◆ close 95.0 %, heat, carrier"
    assert (table["Band switch"].state, table["Band switch"].verdict) == ("not_rated", "○ not rated")
