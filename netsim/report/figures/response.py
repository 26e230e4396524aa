"""The response figure: antenna current over frequency, with the harmonics that come through."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from netsim.analysis import Response
from netsim.description.formatting import format_quantity
from netsim.report.figures import plot, svg
from netsim.report.figures.svg import Rows
from netsim.report.notation import flagged
from netsim.verdict.result import Harmonic, Point

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEAD_INDUCTANCE_RULES = 60.0  # MHz
_RULE = -43.0
"""47 CFR 97.307(d), of the United States, for stations below 30 MHz [dB]."""


@dataclass(frozen=True)
class ResponseFigure:
    """The drawing and its numbers: order, frequency, attenuation, level, how far below the limit."""

    drawing: Markup
    rows: Rows


def response_figure(point: Point, swept: Response, limit: float, prefix: str, band: str) -> ResponseFigure:
    """Draw the response of one network, half to ten times its frequency, with its levels and their limit [dBc]."""
    levels = [(h.order, h.level_dbc) for h in point.harmonics if h.level_dbc is not None]
    with plot.style():
        figure = _draw(point, swept, levels, limit)
    at = format_quantity(point.frequency_hertz, "Hz")
    worst = max(levels, key=lambda entry: entry[1], default=None)
    spoken = "The plate current has no harmonics." if worst is None else ""
    if worst is not None:
        spoken = f"Highest harmonic: order {worst[0]} at {worst[1]:.1f} dBc, limit {limit:g} dBc."
    return ResponseFigure(
        drawing=plot.to_svg(
            figure,
            prefix,
            f"Response and harmonic levels, {band}, {at}",
            f"Antenna current per plate current from half to ten times {at}, with harmonics as stems. {spoken}",
        ),
        rows=tuple(_rows(point, limit)),
    )


def _draw(point: Point, swept: Response, levels: Sequence[tuple[int, float]], limit: float) -> "Figure":
    figure, axes = plot.new_figure(460, 300)
    megahertz = swept.frequency * 1e-6
    axes.semilogx(megahertz, swept.relative_db, color=svg.MUTED, linewidth=1.1)
    bottom = plot.lowest_level([*(level for _, level in levels), float(swept.relative_db.min())])
    base = point.frequency_hertz * 1e-6
    axes.vlines(base, bottom, 0, color=svg.ACCENT, linewidth=2)
    axes.plot([base], [0], "o", color=svg.ACCENT, markersize=5)
    axes.annotate("carrier 0 dBc", (base, 0), (5, 3), textcoords="offset points", color=svg.ACCENT)
    for order, level in levels:
        colour = svg.OVER if level > limit else svg.ACCENT
        axes.vlines(order * base, bottom, level, color=colour, linewidth=2)
        axes.plot([order * base], [level], "^" if level > limit else "o", color=colour, markersize=5)
        text = f"{order} · {level:.1f}{' over' if level > limit else ''}"
        place, ink = (order * base, max(level, bottom)), colour if level > limit else svg.INK
        plot.note(axes, text, place, (0, 6), ink, backed=0.8, rotation=90, ha="center", va="bottom")
    _limit_lines(axes, limit, float(megahertz[0]))
    plot.level_axes(axes, (float(megahertz[0]), float(megahertz[-1])), bottom, base)
    _indicative(axes, float(megahertz[-1]) * 1.06)
    return figure


def _limit_lines(axes: "Axes", limit: float, left: float) -> None:
    """Draw the file's limit, and one country's rule where the limit is another."""
    axes.axhline(limit, color=svg.OVER, linewidth=1.3)
    lines = [(limit, f"limit {limit:g} dBc", svg.OVER)]
    if abs(_RULE - limit) > 0.05:
        axes.axhline(_RULE, color=svg.SECOND, linewidth=1, linestyle=(0, (4, 3)))
        lines.append((_RULE, f"{-_RULE:g} dB, 47 CFR 97.307 (USA)", svg.SECOND))
    lines.sort(key=lambda entry: -entry[0])
    for place, (level, text, colour) in enumerate(lines):
        above = place == 0 or lines[place - 1][0] - level > 12
        offset = (4, 3 if above else -3)
        plot.note(axes, text, (left, level), offset, colour, va="bottom" if above else "top")


def _indicative(axes: "Axes", right: float) -> None:
    """Shade where leads and strays that nobody knows rule the response."""
    if right > _LEAD_INDUCTANCE_RULES:
        axes.axvspan(_LEAD_INDUCTANCE_RULES, right, color=svg.FAINT, alpha=0.35, linewidth=0, zorder=0)
        place = (right, plot.TOP_LEVEL)
        plot.note(axes, "indicative above 60 MHz", place, (-4, -3), svg.MUTED, ha="right", va="top")


def _level(harmonic: Harmonic) -> str:
    if harmonic.level_dbc is not None:
        return f"{harmonic.level_dbc:.1f} dBc"
    return "unknown" if harmonic.unknown else "none flows"


def _rows(point: Point, limit: float) -> Iterator[tuple[str, ...]]:
    for h in point.harmonics:
        margin = "" if h.level_dbc is None else format_quantity(limit - h.level_dbc, "dB")
        yield (
            str(h.order),
            format_quantity(h.order * point.frequency_hertz, "Hz"),
            format_quantity(h.attenuation_db, "dB"),
            _level(h),
            flagged(f"over: {margin}") if h.level_dbc is not None and h.level_dbc > limit else margin,
        )
