"""What the meters show while each capacitor is turned: where the dip is, and which way leads to the match."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from markupsafe import Markup

from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart
from netsim.report.figures.svg import Rows
from netsim.report.tube_and_antenna_words import as_set, dip_words, gone_words, grid_words, loading_words
from netsim.verdict.meters import Meters, Readings

_CURVES = (
    ("plate_current_dc", "A", "plate current", "plate"),
    ("grid_current_dc", "A", "grid current", "grid-current"),
    ("output_power", "W", "output", "output"),
)
_MOST_TOP = 2.5
"""Reading over that at the match, above which curves run out of the figure."""
_LINE = 15.0
"""Height of a line of the legend."""


@dataclass(frozen=True)
class MeterFigure:
    """Both drawings of one band, what they say in words, and the numbers.

    A row: where, tune, load, plate current, grid current, output, dissipation, lowest plate voltage.
    """

    by_tune: Markup
    by_load: Markup
    at: str
    dip: str
    loading: str
    gone: str
    grid: str
    rows: Rows


def meter_figure(meters: Meters, prefix: str) -> MeterFigure:
    """Draw the meters of one band over both settings.

    Readings are drawn as shares of those at the match, since that is what a hand on the knob follows; the
    legend gives the readings there.
    """
    at = format_quantity(meters.frequency, "Hz")
    return MeterFigure(
        by_tune=_draw(meters, "tune", prefix, dip_words(meters)),
        by_load=_draw(meters, "load", prefix, loading_words(meters)),
        at=at,
        dip=dip_words(meters),
        loading=loading_words(meters),
        gone=gone_words(meters),
        grid=grid_words(meters),
        rows=tuple(_rows(meters)),
    )


def _draw(meters: Meters, knob: Literal["tune", "load"], prefix: str, spoken: str) -> Markup:
    readings, matched = (
        (meters.by_tune, meters.matched_tune) if knob == "tune" else (meters.by_load, meters.matched_load)
    )
    setting: FloatArray = getattr(readings, knob)
    where = as_set(meters)
    shares = {
        name: share for name, *_ in _CURVES if (share := _share(getattr(readings, name), matched)) is not None
    }
    highest = float(np.clip(max(s.max() for s in shares.values()), 1.0, _MOST_TOP))
    top = highest / (1 - (_LINE * len(shares) + 6) / (chart.BOTTOM - chart.TOP))
    # A capacitor that cannot move still gets an axis.
    low, high = float(setting.min()), max(float(setting.max()), float(setting.min()) * 1.01)
    frame = Chart(Axis(low, high, 1e-12, f"{knob} / pF"), Axis(0.0, top, 0.01, f"of the reading {where} / %"))
    place, height = frame.place(setting[matched], 1.0)
    shapes = [
        frame.frame(),
        f'<path class="match-line" d="M{place:.1f} {chart.TOP:g}V{chart.BOTTOM:g}"/>',
        *(frame.curve(css, setting, shares[name]) for name, *_, css in _CURVES if name in shares),
        chart.mark(place, height, True),
        *_legend(readings, matched, shares, where),
    ]
    at = format_quantity(meters.frequency, "Hz")
    title = f"Meters while the {knob} capacitor is turned, {meters.band}, {at}"
    return chart.drawing(f"{prefix}-{knob}", title, f"Shares of the readings {where}. {spoken}.", shapes)


def _share(values: FloatArray | None, matched: int) -> FloatArray | None:
    """Give a curve relative to its reading at the match; nothing for one that shows nothing there."""
    return values / values[matched] if values is not None and values[matched] > 0 else None


def _legend(readings: Readings, matched: int, shares: dict[str, FloatArray], where: str) -> Iterator[str]:
    """Write name and reading at the match of each curve above all of them."""
    y = chart.TOP + 11
    for name, unit, label, css in _CURVES:
        if name not in shares:
            continue
        reading = format_quantity(float(getattr(readings, name)[matched]), unit)
        x = chart.LEFT + 10
        yield f'<path class="{css}" d="M{x:g} {y - 4:g}h22"/>'
        yield f'<text class="name" x="{x + 28:g}" y="{y:g}">{label}, {reading} {where}</text>'
        y += _LINE


def _rows(meters: Meters) -> Iterator[tuple[str, ...]]:
    tune, load, gone = meters.by_tune, meters.by_load, meters.antenna_gone
    last = len(tune.tune) - 1
    yield _row("match" if meters.tuned else "as set, not matched", tune, meters.matched_tune)
    yield _row("least tune capacitance", tune, 0)
    yield _row("most tune capacitance", tune, last)
    yield _row("least load capacitance", load, 0)
    if meters.tuned:
        yield _row("heavily loaded", load, meters.heavy)
        yield _row("lightly loaded", load, meters.light)
    yield _row("most load capacitance", load, last)
    yield _row("antenna gone", gone, 0)
    yield _row("dipped again", gone, 1)


def _row(situation: str, readings: Readings, at: int) -> tuple[str, ...]:
    columns = (
        (readings.tune, "F"),
        (readings.load, "F"),
        (readings.plate_current_dc, "A"),
        (readings.grid_current_dc, "A"),
        (readings.output_power, "W"),
        (readings.plate_dissipation, "W"),
        (readings.plate_voltage_minimum, "V"),
    )
    shown = (format_quantity(None if row is None else float(row[at]), unit) for row, unit in columns)
    return situation, *shown
