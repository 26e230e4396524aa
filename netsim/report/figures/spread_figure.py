"""How far each harmonic's level can lie from that into the matched resistance, over terminations."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.circuit.elements import FloatArray
from netsim.circuit.stage import ORDERS
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart
from netsim.report.figures.svg import Rows
from netsim.report.notation import flagged

_FLOOR = -140.0
_ROOM = 8.0


@dataclass(frozen=True)
class Levels:
    """Levels of orders 2 to 10 of one network [dBc], shape ``(9,)``; minus infinity or NaN where none flows.

    They are into the matched resistance, over terminations or into the measured antenna; the frequency is the
    working one [Hz].
    """

    matched: FloatArray
    lowest: FloatArray | None
    highest: FloatArray | None
    measured: FloatArray | None
    limit: float
    frequency: float


@dataclass(frozen=True)
class SpreadFigure:
    """The drawing and its numbers: order, frequency, level into the matched resistance, measured or least and most."""

    drawing: Markup
    at: str
    measured: bool
    rows: Rows


def spread_figure(levels: Levels, prefix: str, band: str) -> SpreadFigure:
    """Draw the levels of one network."""
    at = format_quantity(levels.frequency, "Hz")
    return SpreadFigure(
        drawing=chart.drawing(
            prefix,
            f"Harmonic levels by what the antenna is at the harmonic, {band}, {at}",
            _spoken(levels),
            list(_shapes(levels)),
        ),
        at=at,
        measured=levels.measured is not None,
        rows=tuple(_rows(levels)),
    )


def _spoken(levels: Levels) -> str:
    if levels.measured is not None:
        return f"Levels into the measured antenna beside those into the matched resistance, limit {levels.limit:g} dBc."
    return (
        "For each order the range of levels over terminations, and a mark for the level into the matched resistance; "
        f"limit {levels.limit:g} dBc. Which of them is so cannot be known from the network alone."
    )


def _shapes(levels: Levels) -> Iterator[str]:
    known = [v for v in (levels.matched, levels.lowest, levels.highest, levels.measured) if v is not None]
    every = np.concatenate([*known, [levels.limit]])
    every = every[np.isfinite(every)]
    low = max(float(every.min()) - _ROOM, _FLOOR)
    orders = np.arange(2, ORDERS + 1)
    frame = Chart(
        Axis(1.4, ORDERS + 0.6, 1.0, "order of the harmonic", ticks=tuple(float(n) for n in orders)),
        Axis(low, float(every.max()) + _ROOM, 1.0, "level / dBc"),
    )
    yield frame.frame()
    edge = float(frame.up(np.array(levels.limit)))
    yield f'<path class="limit-line" d="M{chart.LEFT:g} {edge:.1f}H{chart.RIGHT:g}"/>'
    yield f'<text class="limit-word" x="{chart.RIGHT - 4:g}" y="{edge - 5:.1f}">limit {levels.limit:g} dBc</text>'
    for place, x in enumerate(frame.across(orders.astype(np.float64)).tolist()):
        yield from _order(levels, frame, place, x)


def _order(levels: Levels, frame: Chart, place: int, x: float) -> Iterator[str]:
    if levels.lowest is not None and levels.highest is not None and np.isfinite(levels.highest[place]):
        top, bottom = (float(frame.up(v[place])) for v in (levels.highest, levels.lowest))
        over = " beyond" if levels.highest[place] > levels.limit else ""
        yield f'<path class="range{over}" {{clip}} d="M{x:.1f} {top:.1f}V{bottom:.1f}"/>'
    if np.isfinite(levels.matched[place]):
        y = float(frame.up(levels.matched[place]))
        yield f'<path class="matched-level" {{clip}} d="M{x - 9:.1f} {y:.1f}h18"/>'
    if levels.measured is not None and np.isfinite(levels.measured[place]):
        y = float(frame.up(levels.measured[place]))
        yield chart.mark(x, y, bool(levels.measured[place] <= levels.limit))


def _rows(levels: Levels) -> Iterator[tuple[str, ...]]:
    worst = levels.measured if levels.measured is not None else levels.highest
    least = () if levels.measured is not None else (levels.lowest,)
    for place, order in enumerate(range(2, ORDERS + 1)):
        told = _level(worst, place)
        yield (
            str(order),
            format_quantity(order * levels.frequency, "Hz"),
            *(_level(values, place) for values in (levels.matched, *least)),
            flagged(told) if worst is not None and worst[place] > levels.limit else told,
        )


def _level(values: FloatArray | None, place: int) -> str:
    if values is None or not np.isfinite(values[place]):
        return NOTHING
    return f"{float(values[place]):.1f} dBc"
