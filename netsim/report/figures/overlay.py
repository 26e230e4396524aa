"""Two amplifiers in one figure: responses with harmonics, and the plate loads that each serves."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from netsim.advice.coverage import PlateLoadCoverage
from netsim.analysis import Response
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.figures import chart, plot, svg
from netsim.report.figures.coverage_figure import (
    load_chart,
    load_region,
    load_rows,
    load_span,
    present_line,
)
from netsim.report.figures.svg import Rows
from netsim.verdict.result import Point

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SIDES = ("first", "second")
_COLOURS = (svg.ACCENT, svg.SECOND)
_DASHES: Sequence[object] = ("-", (0, (5, 2)))
_MARKERS = ("o", "D")
_NEAR = 24.0
"""Labels of marks whose heights are closer [px] go to different sides."""


@dataclass(frozen=True)
class Overlay:
    """The drawing and its numbers: order or frequency, first, second, and of levels their difference."""

    drawing: Markup
    rows: Rows


def response_overlay(
    points: tuple[Point, Point],
    swept: tuple[Response, Response],
    limits: tuple[float, float],
    prefix: str,
    band: str,
) -> Overlay:
    """Draw both responses of a band, the first solid, the second dashed, with their levels and limits [dBc]."""
    with plot.style():
        figure = _draw(points, swept, limits)
    return Overlay(
        drawing=plot.to_svg(
            figure,
            prefix,
            f"Responses of both, {band}",
            "Antenna current per plate current over frequency: the first solid with round marks for its harmonics, "
            "the second dashed with diamonds.",
        ),
        rows=tuple(_pairs(points)),
    )


def _draw(
    points: tuple[Point, Point], swept: tuple[Response, Response], limits: tuple[float, float]
) -> "Figure":
    figure, axes = plot.new_figure(460, 300)
    levels = [[(h.order, h.level_dbc) for h in p.harmonics if h.level_dbc is not None] for p in points]
    lowest = [level for listed in levels for _, level in listed]
    lowest += [float(one.relative_db.min()) for one in swept]
    for side, (point, one, listed) in enumerate(zip(points, swept, levels, strict=True)):
        colour = _COLOURS[side]
        axes.semilogx(
            one.frequency * 1e-6,
            one.relative_db,
            color=colour,
            linewidth=1.4,
            linestyle=_DASHES[side],
            label=SIDES[side],
        )
        base = point.frequency_hertz * 1e-6
        for order, level in listed:
            axes.plot(
                [order * base],
                [level],
                _MARKERS[side],
                color=colour,
                markersize=5,
                markerfacecolor=colour if side == 0 else svg.PANEL,
            )
    ends = min(one.frequency[0] for one in swept) * 1e-6, max(one.frequency[-1] for one in swept) * 1e-6
    plot.level_axes(axes, ends, plot.lowest_level(lowest), points[0].frequency_hertz * 1e-6)
    _limit_lines(axes, limits)
    axes.legend(loc="upper right", frameon=False, fontsize=plot.SMALL)
    return figure


def _limit_lines(axes: "Axes", limits: tuple[float, float]) -> None:
    left = axes.get_xlim()[0]
    shared = abs(limits[0] - limits[1]) < 0.05
    for side, limit in enumerate(limits[: 1 if shared else 2]):
        axes.axhline(limit, color=svg.OVER, linewidth=1.3, linestyle=_DASHES[side])
        whose = "" if shared else f", {SIDES[side]}"
        plot.note(axes, f"limit {limit:g} dBc{whose}", (left, limit), (4, 3), svg.OVER)


def _pairs(points: tuple[Point, Point]) -> Iterator[tuple[str, ...]]:
    for one, other in zip(points[0].harmonics, points[1].harmonics, strict=True):
        both = one.level_dbc is not None and other.level_dbc is not None
        step = (other.level_dbc or 0.0) - (one.level_dbc or 0.0)
        difference = f"{step:+.1f} dB" if both else NOTHING
        yield str(one.order), _level(one.level_dbc), _level(other.level_dbc), difference


def _level(level: float | None) -> str:
    return "none flows" if level is None else f"{level:.1f} dBc"


def coverage_overlay(maps: tuple[PlateLoadCoverage, PlateLoadCoverage], prefix: str) -> Overlay:
    """Draw what both serve of plate load over frequency on one band, and the plate load that each wants."""
    frame, wanted = load_chart(maps), [format_quantity(one.present_load, "ohm") for one in maps]
    shapes = [
        f'<path class="side-{side}" d="{load_region(frame, one, one.served)}"/>'
        for side, one in zip(SIDES, maps, strict=True)
    ]
    shapes.append(frame.frame())
    places = [present_line(frame, one) for one in maps]
    heights = [float(up[0]) for _, up in places]
    lower = None if abs(heights[0] - heights[1]) > _NEAR else int(heights[1] >= heights[0])
    for number, (side, load, (across, up)) in enumerate(zip(SIDES, wanted, places, strict=True)):
        shapes.append(f'<path class="line-{side}" d="{chart.line(across, up)}"/>')
        shapes += [_mark(side, x, y) for x, y in zip(across.tolist(), up.tolist(), strict=True)]
        shapes.append(
            chart.label(float(across[-1]), float(up[-1]), f"{side} wants {load}", below=number == lower)
        )
    spoken = "; ".join(
        f"the {side} serves {load_span(one.range_served(within_window=True))} and wants {load}"
        for side, one, load in zip(SIDES, maps, wanted, strict=True)
    )
    drawn = chart.drawing(
        prefix,
        f"Plate loads that both serve, {maps[0].band}",
        f"With both capacitors in range and loaded Q in its window: {spoken}.",
        shapes,
    )
    served = [{at: loads for at, *_, loads in load_rows(one)} for one in maps]
    rows = [
        (at, *(loads.get(at, NOTHING) for loads in served)) for at in dict.fromkeys([*served[0], *served[1]])
    ]
    return Overlay(drawn, (*rows, ("wanted", *wanted)))


def _mark(side: str, x: float, y: float) -> str:
    """Mark the first with a dot and the second with a diamond, as in the responses."""
    if side == "first":
        return f'<circle class="at-first" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'
    return f'<path class="at-second" d="M{x:.1f} {y - 5.5:.1f}l5.5 5.5-5.5 5.5-5.5-5.5z"/>'
