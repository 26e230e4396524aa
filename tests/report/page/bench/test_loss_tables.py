"""Where the power goes, against the balance of power and hand arithmetic."""

import pytest

from netsim.advice.bench.bench import Bench
from netsim.analysis import Analysis
from netsim.report.page.bench.loss_tables import LossTable, losses
from netsim.verdict.result import BandResult, Loss

PREFIXES = {"k": 1e3, "m": 1e-3, "µ": 1e-6, "n": 1e-9, "": 1.0}


def watts(text: str) -> float:
    number, unit = text.split(" ")
    return float(number) * PREFIXES[unit.removesuffix("W")]


def made(name: str, **of: float) -> BandResult:
    whole = sum(of.values())
    return BandResult(name, (), 7e6, tuple(Loss(place, watt, watt / whole) for place, watt in of.items()))


def test_losses_are_what_goes_in_less_what_comes_out(solved: Analysis) -> None:
    """Tellegen's theorem: at the fundamental, what parts lose is Re(Z) |I|^2 / 2 less what the antenna takes.

    Parts lose a little more, as harmonics flow in them too: under 1 % of the plate's power.
    """
    shown = losses(solved.verdict.bands)
    current = solved.verdict.stage.fundamental_current_ampere_peak
    plate_power = solved.verdict.stage.plate_power_watt
    assert [table.band for table in shown.tables] == [band.name for band in solved.verdict.bands]
    for table, band in zip(shown.tables, solved.verdict.bands, strict=True):
        assert watts(table.whole) == pytest.approx(plate_power, rel=5e-3)
        output = min(point.output_watt for point in band.points)
        assert watts(table.output.watt) == pytest.approx(output, rel=5e-3)
        lost = sum(watts(row.watt) for row in table.rows)
        assert lost == pytest.approx(watts(table.together), abs=0.005 * plate_power)
        assert 0 <= lost - (plate_power - output) + 0.005 * plate_power < 0.015 * plate_power
        point = min(band.points, key=lambda p: p.output_watt)
        if point.tuned:  # nothing is held back: what the network takes is what the stage gives
            taken = current**2 * point.plate_impedance_ohm[0] / 2
            heat = sum(watts(row.watt) for row in table.rows if not row.place.startswith("mismatch"))
            assert heat == pytest.approx(taken - output, abs=0.01 * plate_power)


def of_band(name: str, *tables: LossTable) -> LossTable:
    return next(table for table in tables if table.band == name)


def test_why_one_band_gives_less() -> None:
    """Hand arithmetic: 100 W less; coil 70 W and suppressor 45 W more, choke 15 W less; the rest is the rest."""
    bands = (
        made("40 m", output=900, coil=60, suppressor=0, plate_choke=20, leads=20),
        made("10 m", output=800, coil=130, suppressor=45, plate_choke=5, leads=20),
    )
    words = losses(bands).why_less
    assert words == (
        "10 m gives 800 W, 100 W less than 40 m with 900 W. What is lost on 10 m: coil 70.0 W more; "
        "suppressor 45.0 W more; plate choke 15.0 W less."
    )


def test_a_tube_that_gives_less_is_told_apart_from_losses() -> None:
    bands = (made("40 m", output=900, coil=100), made("10 m", output=700, coil=120))
    assert losses(bands).why_less.endswith("not given by the tube 180 W more; coil 20.0 W more.")


@pytest.mark.parametrize(
    "bands",
    [(made("40 m", output=900, coil=60),), (made("a", output=900, coil=60), made("b", output=895, coil=65))],
)
def test_of_one_band_or_equal_ones_there_is_nothing_to_ask(bands: tuple[BandResult, ...]) -> None:
    assert losses(bands).why_less == ""


def test_bars_are_on_one_scale_for_all_bands() -> None:
    tables = losses((made("40 m", output=900, coil=50), made("10 m", output=800, coil=100))).tables
    assert [table.rows[0].bar.count("M0 2H") for table in tables] == [1, 1]
    assert "M0 2H45.0V" in tables[0].rows[0].bar
    assert "M0 2H90.0V" in tables[1].rows[0].bar


def test_what_loses_nothing_is_left_out_and_ranges_stand_where_known(benched: Bench) -> None:
    found = losses(benched.result.verdict.bands, benched.points_to)
    assert found.sampled
    assert "load padding" in [row.place for row in of_band("80 m", *found.tables).rows]
    assert "load padding" not in [row.place for row in of_band("40 m", *found.tables).rows]
    for table, band in zip(found.tables, benched.result.verdict.bands, strict=True):
        ranges = {loss.place: (loss.watt_low, loss.watt_high) for loss in band.losses}
        low, high = (watts(end) for end in table.output.limits.split(" to "))
        assert (low, high) == pytest.approx(ranges["output"], rel=5e-3)
    assert found.pointers
    assert all("line 194" in words or "line 203" in words for words in found.pointers)
    assert not losses(benched.result.verdict.bands).pointers
