import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from samples import TUBE, amplifier_from, edited

from netsim.analysis import Analysis, analyse
from netsim.report.figures.meter_figure import meter_figure
from netsim.report.figures.schematic import schematic_figure
from netsim.report.tube_and_antenna_words import dip_words, gone_words, loading_words


@pytest.mark.parametrize("knob", ["tune", "load"])
def test_the_matched_point_is_marked_at_a_hundred_percent(on_the_air: Analysis, knob: str) -> None:
    meters = on_the_air.solved.meters[0]
    drawing = getattr(meter_figure(meters, "x"), f"by_{knob}")
    (mark,) = re.findall(r'class="here" cx="([\d.]+)" cy="([\d.]+)"', drawing)
    setting = getattr(getattr(meters, f"by_{knob}"), knob)
    at = int(np.flatnonzero(setting == getattr(on_the_air.solved.settings, knob)[meters.row])[0])
    share = (setting[at] - setting[0]) / (setting[-1] - setting[0])
    assert float(mark[0]) == pytest.approx(54 + share * (448 - 54), abs=0.06)
    # All three curves pass there.
    for css in ("plate", "grid-current", "output"):
        (curve,) = re.findall(rf'class="{css}" clip-path="[^"]*" d="M([^"]*)"', drawing)
        assert curve.split("L")[at] == f"{mark[0]} {mark[1]}"


def test_the_dip_shows_in_the_drawing(on_the_air: Analysis) -> None:
    """Common practice: plate current dips and output peaks at the match; down is more in a drawing."""
    meters = on_the_air.solved.meters[0]
    figure = meter_figure(meters, "x")
    for css, extreme in (("plate", np.argmax), ("output", np.argmin)):
        (curve,) = re.findall(rf'class="{css}" clip-path="[^"]*" d="M([^"]*)"', figure.by_tune)
        heights = [float(pair.split()[1]) for pair in curve.split("L")]
        assert abs(int(extreme(heights)) - meters.matched_tune) <= 1


def test_rows_and_words_give_the_readings(on_the_air: Analysis) -> None:
    meters = on_the_air.solved.meters[0]
    point = on_the_air.verdict.bands[0].points[0].large_signal
    rows = {
        where: (tune, load, plate, output)
        for where, tune, load, plate, _, output, *_ in meter_figure(meters, "x").rows
    }
    _, _, plate_current, _ = rows["match"]
    assert plate_current == f"{point.plate_current_dc_ampere * 1e3:.0f} mA"
    assert rows["antenna gone"][-1] == "0 W"
    assert dip_words(meters).startswith(f"{plate_current} at the match")
    for end in ("least tune capacitance", "most tune capacitance"):
        tune, _, plate_current, _ = rows[end]
        assert f"{plate_current} ({tune})" in dip_words(meters)
    _, load, plate_current, _ = rows["heavily loaded"]
    assert f"heavily loaded (load {load}) {plate_current}" in loading_words(meters)
    assert rows["dipped again"][2] in gone_words(meters)


def test_a_dip_elsewhere_is_told(on_the_air: Analysis) -> None:
    meters = on_the_air.solved.meters[0]
    assert "least" not in dip_words(meters)
    current = meters.by_tune.plate_current_dc.copy()
    current[5] = 0.1
    moved = replace(meters, by_tune=replace(meters.by_tune, plate_current_dc=current))
    assert "least 100 mA" in dip_words(moved)


def test_no_grid_current_no_curve(on_the_air: Analysis) -> None:
    meters = on_the_air.solved.meters[0]
    nothing = np.zeros(len(meters.by_tune.tune))
    figure = meter_figure(replace(meters, by_tune=replace(meters.by_tune, grid_current_dc=nothing)), "x")
    assert "grid-current" not in figure.by_tune
    assert "grid-current" in figure.by_load


def test_a_band_without_a_match_is_told_so(plain: Path, tmp_path: Path) -> None:
    """Derived: 200 pF of load capacitance cannot make the match of 80 m, so that no word may call it one."""
    text = edited(
        plain, ('maximum = "1500 pF"', 'maximum = "200 pF"'), ("worst_swr = 2.0", "worst_swr = 1.0")
    )
    result = analyse(amplifier_from(text + TUBE, tmp_path), engine="two-port", samples=1, band="80 m")
    (meters,), (point,) = result.solved.meters, result.verdict.bands[0].points[:1]
    assert not point.tuned
    figure = meter_figure(meters, "x")
    told = [figure.by_tune, figure.by_load, figure.dip, figure.loading, figure.grid]
    told += [where for where, *_ in figure.rows]
    for words in told:
        assert not re.search(r"at the match|\blight|\bheav", str(words)), words
    assert "not matched" in figure.dip
    assert figure.rows[0][0] == "as set, not matched"
    # One plate current on schematic, meters and table.
    settled = f"{result.solved.current.direct[meters.row] * 1e3:.0f} mA"
    assert figure.rows[0][3] == settled
    drawing = schematic_figure(result, meters.row, "s", "80 m", {})
    assert f">{settled} DC<" in drawing
