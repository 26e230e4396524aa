"""Two amplifiers in one figure: responses with harmonics, and the plate loads that each serves."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup

from netsim.advice.coverage import PlateLoadCoverage
from netsim.analysis import Response
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.figures import chart, plot, svg
from netsim.report.figures.coverage_figure import load_chart, load_region, load_rows, present_line
from netsim.verdict.result import Point

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SIDES = ("first", "second")
_COLOURS = (svg.ACCENT, svg.SECOND)
_DASHES: Sequence[object] = ("-", (0, (5, 2)))
_MARKERS = ("o", "D")
_TOP, _LOWEST = 12.0, -150.0
_NEAR = 24.0
"""Labels of marks whose heights are closer [px] go to different sides."""


@dataclass(frozen=True)
class HarmonicPair:
    """One order of both, written out."""

    order: int
    first: str
    second: str
    difference: str


@dataclass(frozen=True)
class ResponseOverlay:
    """The drawing and its numbers."""

    drawing: Markup
    harmonics: tuple[HarmonicPair, ...]


@dataclass(frozen=True)
class ServedPair:
    """Plate loads that both serve at one frequency; nothing where one is not used there."""

    frequency: str
    first: str
    second: str


@dataclass(frozen=True)
class CoverageOverlay:
    """The drawing and its numbers; ``wanted`` are the plate loads of both."""

    drawing: Markup
    rows: tuple[ServedPair, ...]
    wanted: tuple[str, str]


def response_overlay(
    points: tuple[Point, Point],
    swept: tuple[Response, Response],
    limits: tuple[float, float],
    prefix: str,
    band: str,
) -> ResponseOverlay:
    """Draw both responses of a band, the first solid, the second dashed, with their harmonic levels.

    Parameters
    ----------
    points : tuple of Point
        Give the harmonics.
    swept : tuple of Response
        Of the same networks.
    limits : tuple of float
        Highest levels allowed [dBc].
    prefix : str
        For ids.
    band : str
        The user's name of the band, for the title only.
    """
    with plot.style():
        figure = _draw(points, swept, limits)
    return ResponseOverlay(
        drawing=plot.to_svg(
            figure,
            prefix,
            f"Responses of both, {band}",
            "Antenna current per plate current over frequency: the first solid with round marks for its harmonics, "
            "the second dashed with diamonds.",
        ),
        harmonics=tuple(_pairs(points)),
    )


def _draw(
    points: tuple[Point, Point], swept: tuple[Response, Response], limits: tuple[float, float]
) -> "Figure":
    figure, axes = plot.new_figure(460, 300)
    levels = [[(h.order, h.level_dbc) for h in p.harmonics if h.level_dbc is not None] for p in points]
    lowest = [level for listed in levels for _, level in listed]
    lowest += [float(one.relative_db.min()) for one in swept]
    bottom = max(10 * (min([*lowest, -80.0]) // 10) - 10, _LOWEST)
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
    left, right = (
        min(float(one.frequency[0]) for one in swept),
        max(float(one.frequency[-1]) for one in swept),
    )
    axes.set_xlim(left * 1e-6, right * 1.06e-6)
    axes.set_ylim(bottom, _TOP)
    _limit_lines(axes, limits)
    axes.set_xlabel("frequency / MHz")
    axes.set_ylabel("antenna, dB to carrier")
    base = points[0].frequency_hertz * 1e-6
    orders = (0.5, 1, 2, 3, 5, 7, 10)
    axes.set_xticks([order * base for order in orders], [f"{order * base:.3g}" for order in orders])
    axes.minorticks_off()
    axes.legend(loc="upper right", frameon=False, fontsize=plot.SMALL)
    return figure


def _limit_lines(axes: "Axes", limits: tuple[float, float]) -> None:
    left = axes.get_xlim()[0]
    shared = abs(limits[0] - limits[1]) < 0.05
    for side, limit in enumerate(limits[: 1 if shared else 2]):
        axes.axhline(limit, color=svg.OVER, linewidth=1.3, linestyle=_DASHES[side])
        whose = "" if shared else f", {SIDES[side]}"
        axes.annotate(
            f"limit {limit:g} dBc{whose}",
            (left, limit),
            (4, 3),
            textcoords="offset points",
            fontsize=plot.SMALL,
            color=svg.OVER,
        )


def _pairs(points: tuple[Point, Point]) -> list[HarmonicPair]:
    pairs = []
    for one, other in zip(points[0].harmonics, points[1].harmonics, strict=True):
        both = one.level_dbc is not None and other.level_dbc is not None
        step = (other.level_dbc or 0.0) - (one.level_dbc or 0.0)
        pairs.append(
            HarmonicPair(
                one.order,
                _level(one.level_dbc),
                _level(other.level_dbc),
                f"{step:+.1f} dB" if both else NOTHING,
            )
        )
    return pairs


def _level(level: float | None) -> str:
    return "none flows" if level is None else f"{level:.1f} dBc"


def coverage_overlay(maps: tuple[PlateLoadCoverage, PlateLoadCoverage], prefix: str) -> CoverageOverlay:
    """Draw what both serve of plate load over frequency, and the plate load that each wants.

    Parameters
    ----------
    maps : tuple of PlateLoadCoverage
        Of the same band.
    prefix : str
        For ids.
    """
    frame = load_chart(maps)
    shapes = [
        f'<path class="side-{side}" d="{load_region(frame, one, one.served)}"/>'
        for side, one in zip(SIDES, maps, strict=True)
    ]
    shapes.append(frame.frame())
    places = [present_line(frame, one) for one in maps]
    heights = [float(up[0]) for _, up in places]
    lower = None if abs(heights[0] - heights[1]) > _NEAR else int(heights[1] >= heights[0])
    for number, (side, one, (across, up)) in enumerate(zip(SIDES, maps, places, strict=True)):
        shapes.append(f'<path class="line-{side}" d="{chart.line(across, up)}"/>')
        shapes += [_mark(side, x, y) for x, y in zip(across.tolist(), up.tolist(), strict=True)]
        words = f"{side} wants {format_quantity(one.present_load, 'ohm')}"
        shapes.append(chart.label(float(across[-1]), float(up[-1]), words, below=number == lower))
    spoken = "; ".join(
        f"the {side} serves {_span(one.range_served(within_window=True))} and wants "
        f"{format_quantity(one.present_load, 'ohm')}"
        for side, one in zip(SIDES, maps, strict=True)
    )
    drawn = chart.drawing(
        prefix,
        f"Plate loads that both serve, {maps[0].band}",
        f"With both capacitors in range and loaded Q in its window: {spoken}.",
        shapes,
    )
    served = [{row.frequency: row for row in load_rows(one)} for one in maps]
    rows = [
        ServedPair(at, *(rows[at].served if at in rows else NOTHING for rows in served))
        for at in dict.fromkeys([*served[0], *served[1]])
    ]
    wanted = tuple(format_quantity(one.present_load, "ohm") for one in maps)
    return CoverageOverlay(drawn, tuple(rows), (wanted[0], wanted[1]))


def _mark(side: str, x: float, y: float) -> str:
    """Mark the first with a dot and the second with a diamond, as in the responses."""
    if side == "first":
        return f'<circle class="at-first" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'
    return f'<path class="at-second" d="M{x:.1f} {y - 5.5:.1f}l5.5 5.5-5.5 5.5-5.5-5.5z"/>'


def _span(ends: tuple[float, float] | None) -> str:
    if ends is None:
        return "none"
    return " to ".join(format_quantity(end, "ohm") for end in np.array(ends).tolist())
