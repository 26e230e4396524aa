"""The Smith chart figure: how each part carries the antenna's resistance to the plate load."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from markupsafe import Markup

from netsim.circuit.elements import ComplexArray
from netsim.description.formatting import format_quantity
from netsim.study import Study

from . import plot, svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SMALLEST_CIRCLE = 0.12
_NAMES = {
    "tune": "tune capacitor with padding and stray",
    "load": "load capacitor with padding and stray",
    "plate_choke": "plate choke with its self-capacitance",
    "output_capacitance": "tube's output capacitance",
}


@dataclass(frozen=True)
class Step:
    """One part on the way from the antenna to the plate, and what is seen behind it."""

    number: int
    part: str
    how: str
    impedance: str


@dataclass(frozen=True)
class SmithFigure:
    """The drawing, the steps and the resistance the chart refers to."""

    drawing: Markup
    reference: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class _Move:
    """From one impedance to the next, in series or across."""

    part: str
    shunt: bool
    start: complex
    end: complex

    def track(self, reference: float) -> ComplexArray:
        """Reflections on the way, the part growing from nothing to its value; a point every few hundredths."""
        ends = _reflect(np.array([self.start, self.end]), reference)
        share = np.linspace(0, 1, 9 + int(40 * abs(ends[1] - ends[0])))
        if not self.shunt:
            return _reflect(self.start + (self.end - self.start) * share, reference)
        first, last = 1 / self.start, 1 / self.end
        return _reflect(1 / (first + (last - first) * share), reference)


def smith_figure(study: Study, row: int, prefix: str, band: str) -> SmithFigure:
    """Draw the path of one network at its working frequency.

    Parameters
    ----------
    study : Study
        Solved; the impedances come from its voltages and currents, not from a calculation of their own.
    row : int
        Which network.
    prefix : str
        For ids.
    band : str
        The user's name of the band, for the title only.

    Notes
    -----
    The chart refers to the geometric mean of antenna resistance and plate load, a real resistance, so
    that both ends of the way lie equally far from the middle.
    """
    parts = study.evidence.assembly.parts
    load, antenna = float(parts.plate_load), float(parts.antenna_resistance)
    reference = float(np.sqrt(load * antenna))
    moves = _moves(study, row)
    at = format_quantity(float(study.evidence.frequency[row]), "Hz")
    seen = _written(moves[-1].end) if moves else _written(complex(antenna))
    title = f"Smith chart from antenna to plate, {band}, {at}"
    spoken = (
        f"From {antenna:.3g} ohm at the antenna in {len(moves)} steps to {seen} at the plate, which wants "
        f"{format_quantity(load, 'ohm')}. The chart refers to {format_quantity(reference, 'ohm')}."
    )
    return SmithFigure(
        drawing=_draw(moves, load, antenna, reference, prefix, title, spoken),
        reference=format_quantity(reference, "ohm"),
        steps=(
            Step(0, "antenna", "start", _written(complex(antenna))),
            *(
                Step(number, move.part, "across" if move.shunt else "in series", _written(move.end))
                for number, move in enumerate(moves, start=1)
            ),
        ),
    )


def _moves(study: Study, row: int) -> list[_Move]:
    """Walk from the antenna back to the plate; parts across the same node that belong together are one move."""
    voltage = {name: v[row, 0] for name, v in study.solution.node_voltage.items()}
    current = {name: i[row, 0] for name, i in study.solution.branch_current.items()}
    branches = list(reversed(study.ladder.branches))
    carried = current["antenna"]
    seen = complex(voltage[branches[0].node] / carried)
    moves: list[_Move] = []
    for branch in branches[1:]:
        shunt = branch.to is None
        if shunt and current[branch.name] == 0:
            continue
        if shunt:
            carried = carried + current[branch.name]
        after = complex(voltage[branch.node] / carried)
        group = _group(branch.name)
        if moves and shunt and moves[-1].part == group:
            moves[-1] = _Move(group, True, moves[-1].start, after)
        else:
            moves.append(_Move(group, shunt, seen, after))
        seen = after
    return moves


def _group(name: str) -> str:
    for start, words in _NAMES.items():
        if name.startswith(start):
            return words
    return name.replace("_", " ")


def _draw(
    moves: list[_Move],
    load: float,
    antenna: float,
    reference: float,
    prefix: str,
    title: str,
    spoken: str,
) -> Markup:
    from matplotlib.patches import Circle
    from skrf.plotting import smith

    with plot.style():
        figure, axes = plot.new_figure(400, 400)
        axes.set_position((0.01, 0.01, 0.98, 0.98))
        axes.set_axis_off()
        smith(ax=axes, chart_type="z", draw_labels=False, ref_imm=1.0)
        for patch in list(axes.patches):
            patch.set_edgecolor(svg.FAINT)
            patch.set_linewidth(0.7)
            if isinstance(patch, Circle) and abs(patch.get_radius()) < _SMALLEST_CIRCLE:
                patch.remove()
        for line in axes.lines:
            line.set_color(svg.FAINT)
        for share in (0.2, 0.5, 1.0, 2.0, 5.0):
            place = (share - 1) / (share + 1)
            if abs(place - (load - reference) / (load + reference)) < 0.15:
                continue
            text = f"{_ohms(float(f'{share * reference:.2g}'))} Ω"
            axes.annotate(
                text,
                (place, 0),
                (2, -3),
                textcoords="offset points",
                va="top",
                fontsize=plot.SMALL,
                color=svg.MUTED,
            )
        placed = [_reflect(np.array([antenna, load], dtype=np.complex128), reference)]
        marks = [placed[0][0]]
        for move in moves:
            path = move.track(reference)
            colour = svg.ACCENT if move.shunt else svg.SECOND
            axes.plot(
                path.real,
                path.imag,
                color=colour,
                linewidth=2.2,
                linestyle="-" if move.shunt else (0, (5, 1.5)),
            )
            axes.plot([path[-1].real], [path[-1].imag], "o", color=colour, markersize=4.5)
            marks.append(path[-1])
            placed.append(path)
        target = placed[0][1].real
        axes.plot([target], [0], "s", markersize=10, markerfacecolor="none", markeredgecolor=svg.INK)
        axes.annotate(
            "plate load",
            (target, 0),
            (0, -10),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize=plot.SMALL,
            bbox={"facecolor": svg.PANEL, "edgecolor": "none", "pad": 0.8},
        )
        axes.plot([marks[0].real], [0], "D", color=svg.INK, markersize=6)
        _number_marks(axes, np.array(marks), np.concatenate(placed))
        axes.set_xlim(-1.04, 1.04)
        axes.set_ylim(-1.04, 1.04)
    return plot.to_svg(figure, prefix, title, spoken)


def _number_marks(axes: "Axes", marks: ComplexArray, path: ComplexArray) -> None:
    """Put each number beside its point, in the direction that keeps away from the path and other numbers."""
    directions = np.exp(1j * np.arange(0, 2 * np.pi, np.pi / 8))
    taken = [path, path[1] + np.linspace(-0.14, 0.14, 9) - 0.08j]
    for number, mark in enumerate(marks):
        spots = np.concatenate([mark + reach * directions for reach in (0.09, 0.16, 0.24)])
        others = np.concatenate(taken)
        room = np.abs(spots[:, np.newaxis] - others).min(axis=1)
        cost = np.minimum(room, 0.075) - 0.1 * np.abs(spots - mark) - 10 * (np.abs(spots) > 0.97)
        best = spots[int(np.argmax(cost))]
        taken.append(best + 0.035 * directions)
        taken.append(np.array([best, best + 0.03, best - 0.03]))
        if abs(best - mark) > 0.1:
            axes.plot([mark.real, best.real], [mark.imag, best.imag], color=svg.MUTED, linewidth=0.7)
        axes.annotate(
            str(number),
            (best.real, best.imag),
            ha="center",
            va="center",
            fontsize=10,
            color=svg.INK,
            bbox={
                "facecolor": svg.PANEL,
                "edgecolor": svg.MUTED,
                "boxstyle": "circle,pad=0.18",
                "linewidth": 0.6,
            },
        )


def _reflect(impedance: npt.NDArray[np.complexfloating], reference: float) -> ComplexArray:
    return np.asarray((impedance - reference) / (impedance + reference))


def _written(impedance: complex) -> str:
    sign = "+" if impedance.imag >= 0 else "-"
    return f"{_ohms(impedance.real)} {sign} j{_ohms(abs(impedance.imag))} Ω"


def _ohms(value: float) -> str:
    """Whole ohms above a hundred, three digits below."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
