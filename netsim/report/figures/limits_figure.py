"""What is known of quantities before and after a fit: limits and values of each on a scale of its own."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from netsim.advice.fit.fit import Unknown
from netsim.description.formatting import scale_of
from netsim.report.bench_words import limits_after, limits_before, told_apart
from netsim.report.figures import plot, svg
from netsim.report.figures.svg import Rows, cut

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WIDTH, _ROW = 314.0, 54.0
_LEFT, _RIGHT = 7.0, 307.0
_LONGEST = 42
"""Letters of a key and its unit that have room beside what is said of it."""


@dataclass(frozen=True)
class LimitsFigure:
    """The drawing and its numbers: key, line and source, before, after, told apart or not."""

    drawing: Markup
    rows: Rows


def limits_figure(unknowns: Sequence[Unknown], prefix: str) -> LimitsFigure:
    """Draw quantities, at least one, one below the other."""
    rows = tuple(
        (u.key, f"{u.line}, {u.source}", limits_before(u), limits_after(u), told_apart(u)) for u in unknowns
    )
    height = _ROW * len(unknowns)
    with plot.style():
        from matplotlib.figure import Figure

        figure = Figure(figsize=(_WIDTH / 72, height / 72))
        for n, unknown in enumerate(unknowns):
            foot = height - (n + 1) * _ROW + 20
            axes = figure.add_axes(
                (_LEFT / _WIDTH, foot / height, (_RIGHT - _LEFT) / _WIDTH, (_ROW - 36) / height)
            )
            _draw(axes, unknown, n, rows[n][-1])
    spoken = "; ".join(
        f"{key}: before {before}, after {after}, {told}" for key, _, before, after, told in rows
    )
    drawing = str(plot.to_svg(figure, prefix, "Limits before and after the fit", f"{spoken}."))
    # Keys may hold the user's names: they come in when the drawing is done.
    for n, unknown in enumerate(unknowns):
        drawing = drawing.replace(f">{_stand_in(n)}<", f">{escape(_label(unknown))}<")
    return LimitsFigure(Markup(drawing), rows)


def _draw(axes: "Axes", unknown: Unknown, number: int, told: str) -> None:
    scale, _ = _scale(unknown)
    low, high, nominal = (v / scale for v in (unknown.low, unknown.high, unknown.nominal))
    after_low, after_high, fitted = (
        v / scale for v in (unknown.fitted_low, unknown.fitted_high, unknown.fitted)
    )
    room = 0.03 * (high - low)
    axes.set_xlim(low - room, high + room)
    axes.set_ylim(0, 1)
    axes.set_yticks([])
    axes.grid(False)
    axes.spines["left"].set_visible(False)
    axes.locator_params(axis="x", nbins=6)
    axes.ticklabel_format(axis="x", style="plain", useOffset=False)
    axes.broken_barh([(low, high - low)], (0.1, 0.8), facecolor="none", edgecolor=svg.MUTED, linewidth=1.1)
    axes.plot([nominal, nominal], [0.1, 0.9], color=svg.MUTED, linewidth=1.1, linestyle=(0, (2, 2)))
    axes.broken_barh(
        [(after_low, after_high - after_low)],
        (0.28, 0.44),
        facecolor=svg.ACCENT,
        edgecolor=svg.ACCENT,
        alpha=0.45,
    )
    axes.plot([fitted], [0.5], "o", color=svg.INK, markersize=5)
    axes.text(0, 1.08, _stand_in(number), transform=axes.transAxes, fontsize=plot.SMALL)
    axes.text(1, 1.08, told, transform=axes.transAxes, fontsize=plot.SMALL, ha="right")


def _stand_in(number: int) -> str:
    return f"quantity {number}"


def _scale(unknown: Unknown) -> tuple[float, str]:
    if unknown.unit == "rad":
        return math.radians(1), "°"
    return scale_of(unknown.nominal, unknown.unit)


def _label(unknown: Unknown) -> str:
    _, unit = _scale(unknown)
    ending = f" / {unit}" if unit else ""
    return cut(unknown.key, _LONGEST - len(ending)) + ending
