from pathlib import Path

import pytest
from report_cases import variant

from netsim.advice.bench.bench import Bench
from netsim.analysis import Analysis
from netsim.description.models.capacitors import VariableCapacitor
from netsim.report.page.bench.bench_card import bench_card, dial, plain


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0, "0"), (4.966, "4.97"), (1870.6, "1870"), (99.96, "100"), (0.95, "0.950"), (12345, "12300")],
)
def test_plain_numbers_have_three_digits_and_no_exponent(value: float, shown: str) -> None:
    assert plain(value) == shown


@pytest.mark.parametrize(("setting", "shown"), [(10e-12, "0 %"), (165e-12, "50 %"), (320e-12, "100 %")])
def test_the_dial_goes_evenly_with_capacitance(setting: float, shown: str) -> None:
    """Derived: (setting - minimum) / (maximum - minimum)."""
    assert dial(setting, VariableCapacitor(minimum=10e-12, maximum=320e-12)) == shown


def test_rows_are_the_points_of_the_result(solved: Analysis) -> None:
    card = bench_card(solved)
    points = [(band.name, point) for band in solved.verdict.bands for point in band.points]
    rows = card.tables[0].rows
    assert len(rows) == len(points)
    for row, (band, point) in zip(rows, points, strict=True):
        assert row.band == band
        assert float(row.tune) == pytest.approx(point.tune_farad * 1e12, rel=5e-3)
        assert float(row.load) == pytest.approx(point.load_farad * 1e12, rel=5e-3)
        assert float(row.coil) == pytest.approx(point.coil_henry * 1e6, rel=5e-3)
        assert float(row.frequency) == pytest.approx(point.frequency_hertz * 1e-6, rel=5e-4)
        assert row.tuned == point.tuned
        assert ("j" in row.plate_load) == (not point.tuned)
    assert sum(row.first_of_band for row in rows) == len(rows)
    assert card.pi_l == (solved.verdict.topology == "pi-L")
    assert all(bool(row.output_coil) == card.pi_l for row in rows)


def test_an_operating_point_has_a_table_of_its_own(plain: Path, tmp_path: Path) -> None:
    from report_cases import solved_text

    text = plain.read_text(encoding="utf-8")
    text += (
        '\n[[operating_points]]\nname = "carrier"\nplate_voltage = "1.8 kV"\nno_load_plate_voltage = "2 kV"\n'
    )
    card = bench_card(solved_text(text, tmp_path))
    assert [table.condition for table in card.tables] == ["", "carrier"]
    assert card.tables[0].wanted_plate_load != card.tables[1].wanted_plate_load


def test_settings_that_miss_the_match_are_flagged(plain: Path, tmp_path: Path) -> None:
    assert bench_card(variant(plain, tmp_path, maximum='"40 pF"')).any_untuned


def test_the_cold_test_stands_at_settings_of_the_card(benched: Bench) -> None:
    """One figure for one thing: what is set for full output is what is set cold."""
    card = bench_card(benched.result, benched.cold_match)
    rows = {(row.band, row.frequency): row for row in card.tables[0].rows}
    assert [band for band, *_ in card.cold] == ["80 m", "40 m", "20 m", "10 m"]
    for cold, test in zip(card.cold, benched.cold_match, strict=True):
        band, frequency, _, tune, tune_dial, load, load_dial, bold, swr, *more = cold
        row = rows[band, frequency]
        assert (tune, load) == (row.tune, row.load)
        assert (tune_dial, load_dial) == (row.tune_dial, row.load_dial)
        shown = bold.removeprefix("<b>").removesuffix("</b>")
        real, imaginary = shown.removesuffix("j").replace("- ", "-").replace("+ ", "").split(" ")
        assert complex(float(real), float(imaginary)) == pytest.approx(test.impedance_ohm, rel=2e-3)
        # Derived: the standing wave ratio of a load on 50 ohm, (1 + |r|) / (1 - |r|).
        reflection = abs((test.impedance_ohm - 50) / (test.impedance_ohm + 50))
        assert float(swr) == pytest.approx((1 + reflection) / (1 - reflection), abs=6e-3)
        assert len({shown, *more}) == 4
    assert "unplugged, waited, discharged" in card.cautions
    assert "shorted to chassis" in card.cautions
    assert "Tube and supply stay dead" in card.cautions


def test_without_advice_there_is_no_cold_test(on_the_bench: Analysis) -> None:
    assert bench_card(on_the_bench).cold == ()


def test_the_end_of_a_dial_is_nought_whatever_rounding_leaves(on_the_bench: Analysis) -> None:
    tune = on_the_bench.amplifier.description.network.tune_capacitor
    assert dial(tune.minimum * (1 + 1e-15), tune) == "0"
