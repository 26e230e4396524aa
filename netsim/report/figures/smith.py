"""The Smith chart figure: how each part carries the antenna's resistance to the plate load."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.circuit.elements import ComplexArray
from netsim.circuit.reflection import reflection_of
from netsim.description.formatting import format_quantity
from netsim.report.figures import plot, svg
from netsim.report.figures.smith_path import Move, moves
from netsim.report.figures.svg import Rows

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

GRID = "smith-grid"
"""Id of the grid, which is the same in every chart and stands on the page once."""

_SIZE = 400
_SMALLEST_CIRCLE = 0.12
_TOO_NEAR = 0.15


@dataclass(frozen=True)
class SmithFigure:
    """The drawing, the resistance it refers to, and its numbers: step, part, how it stands, what is seen behind it."""

    drawing: Markup
    reference: str
    rows: Rows


def smith_figure(result: Analysis, row: int, prefix: str, band: str) -> SmithFigure:
    """Draw the path of one network at its working frequency, over the grid of `smith_grid`.

    The chart refers to the geometric mean of antenna resistance and plate load, a real resistance, so
    that both ends of the way lie equally far from the middle.
    """
    parts = result.solved.assembly.parts
    load, antenna = float(parts.plate_load[row]), float(parts.antenna_resistance)
    reference = float(np.sqrt(load * antenna))
    way = moves(result, row)
    at = format_quantity(float(result.solved.frequency[row]), "Hz")
    steps = [("antenna", "start", complex(antenna))]
    steps += [(move.part, "across" if move.shunt else "in series", move.end) for move in way]
    rows = tuple((str(number), part, how, _written(seen)) for number, (part, how, seen) in enumerate(steps))
    title = f"Smith chart from antenna to plate, {band}, {at}"
    spoken = (
        f"From {format_quantity(antenna, 'ohm')} at the antenna in {len(way)} steps to {rows[-1][-1]} at "
        f"the plate, which wants {format_quantity(load, 'ohm')}. "
        f"The chart refers to {format_quantity(reference, 'ohm')}."
    )
    with plot.style():
        figure = _draw(way, load, antenna, reference)
        grid = Markup('<use href="#{}"/>').format(GRID)
        drawing = plot.to_svg(figure, prefix, title, spoken, underlay=grid)
    return SmithFigure(drawing, format_quantity(reference, "ohm"), rows)


def smith_grid() -> Markup:
    """Draw circles of constant resistance and reactance, as an SVG that shows nothing by itself but has `GRID`."""
    from matplotlib.patches import Circle
    from skrf.plotting import smith

    with plot.style():
        figure, axes = _open()
        smith(ax=axes, chart_type="z", draw_labels=False, ref_imm=1.0)
        _frame(axes)
        for patch in list(axes.patches):
            patch.set_edgecolor(svg.FAINT)
            patch.set_linewidth(0.7)
            # What is smaller would only blacken the right end.
            if isinstance(patch, Circle) and abs(patch.get_radius()) < _SMALLEST_CIRCLE:
                patch.remove()
        for line in axes.lines:
            line.set_color(svg.FAINT)
        drawn = plot.to_svg(figure, "smith-grid-drawing", "Grid of a Smith chart", "Used by every chart.")
    # A plain string: markup would escape the quotes of what is put in.
    opening, _, rest = str(drawn).partition("</desc>")
    opening = opening.replace('class="plot"', 'class="unseen"')
    return Markup(f'{opening}</desc><defs><g id="{GRID}">{rest.removesuffix("</svg>")}</g></defs></svg>')


def _open() -> tuple["Figure", "Axes"]:
    figure, axes = plot.new_figure(_SIZE, _SIZE)
    axes.set_position((0.01, 0.01, 0.98, 0.98))
    axes.set_axis_off()
    return figure, axes


def _frame(axes: "Axes") -> None:
    axes.set_xlim(-1.04, 1.04)
    axes.set_ylim(-1.04, 1.04)


def _draw(way: Sequence[Move], load: float, antenna: float, reference: float) -> "Figure":
    figure, axes = _open()
    start, target = reflection_of(np.array([antenna, load], dtype=np.complex128), reference)
    scale = _ohm_scale(axes, reference, (float(start.real), float(target.real)))
    marks = [start]
    tracks: list[ComplexArray] = [np.array([start, target]), scale]
    for move in way:
        track = move.track(reference)
        colour = svg.ACCENT if move.shunt else svg.SECOND
        dashes = "-" if move.shunt else (0, (5, 1.5))
        axes.plot(track.real, track.imag, color=colour, linewidth=2.2, linestyle=dashes)
        axes.plot([track[-1].real], [track[-1].imag], "o", color=colour, markersize=4.5)
        marks.append(track[-1])
        tracks.append(track)
    axes.plot([target.real], [0], "s", markersize=10, markerfacecolor="none", markeredgecolor=svg.INK)
    place = (float(target.real), 0)
    plot.note(axes, "plate load", place, (0, -10), backed=0.6, ha="center", va="top")
    axes.plot([start.real], [0], "D", color=svg.INK, markersize=6)
    below_target = target + np.linspace(-0.14, 0.14, 9) - 0.08j
    _number_marks(axes, np.array(marks), np.concatenate([*tracks, below_target]))
    _frame(axes)
    return figure


def _ohm_scale(axes: "Axes", reference: float, taken: Sequence[float]) -> ComplexArray:
    """Write some resistances below the real axis where nothing else stands, and give the room they take."""
    room: list[ComplexArray] = [np.zeros(0, dtype=np.complex128)]
    for share in (0.2, 0.5, 1.0, 2.0, 5.0):
        place = (share - 1) / (share + 1)
        if min(abs(place - other) for other in taken) > _TOO_NEAR:
            ohms = _ohms(float(f"{share * reference:.2g}"))
            plot.note(axes, f"{ohms} Ω", (place, 0), (2, -3), svg.MUTED, backed=0.6, ha="left", va="top")
            room.append(np.asarray(place + np.linspace(0, 0.18, 7) - 0.05j, dtype=np.complex128))
    return np.concatenate(room)


def _number_marks(axes: "Axes", marks: ComplexArray, path: ComplexArray) -> None:
    """Put each number beside its point, in the direction that keeps away from the path and other numbers."""
    directions = np.exp(1j * np.arange(0, 2 * np.pi, np.pi / 8))
    circle = {
        "boxstyle": "circle,pad=0.18",
        "facecolor": svg.PANEL,
        "edgecolor": svg.MUTED,
        "linewidth": 0.6,
    }
    how: Any = {"ha": "center", "va": "center", "fontsize": 10, "color": svg.INK, "bbox": circle}
    taken = [path]
    for number, mark in enumerate(marks):
        spots = np.concatenate([mark + reach * directions for reach in (0.09, 0.16, 0.24)])
        room = np.abs(spots[:, np.newaxis] - np.concatenate(taken)).min(axis=1)
        worth = np.minimum(room, 0.075) - 0.1 * np.abs(spots - mark) - 10 * (np.abs(spots) > 0.97)
        best = spots[int(np.argmax(worth))]
        taken.append(np.append(best + 0.035 * directions, best))
        if abs(best - mark) > 0.1:
            axes.plot([mark.real, best.real], [mark.imag, best.imag], color=svg.MUTED, linewidth=0.7)
        axes.annotate(str(number), (best.real, best.imag), **how)


def _written(impedance: complex) -> str:
    sign = "+" if impedance.imag >= 0 else "-"
    return f"{_ohms(impedance.real)} {sign} j{_ohms(abs(impedance.imag))} Ω"


def _ohms(value: float) -> str:
    """Whole ohms above a hundred, three digits below."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
