"""Which antennas a band cannot match, on a Smith chart of the antenna's own impedance."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.circuit.elements import ComplexArray
from netsim.circuit.reflection import PHASES, RADII, swr_of
from netsim.circuit.tuning import BoolArray
from netsim.description.formatting import format_quantity
from netsim.report.figures.chart import TEXT
from netsim.report.figures.smith import GRID
from netsim.report.figures.svg import Rows, framed, least_width
from netsim.report.tube_and_antenna_words import share_words
from netsim.verdict.any_antenna import AnyAntenna
from netsim.verdict.words.antennas import load_words

_SIZE, _CENTRE = 400, 200.0
_UNIT = 400 * 0.98 / 2 / 1.04
"""Radius of the chart in its drawing, as the common grid has it."""

_FILL = 0.82
"""Share of the drawing that the outermost circle takes where the chart is enlarged."""
_MOST_ZOOM = 4.0
_LABELLED = (0.2, 0.5, 1.0, 2.0, 5.0)


@dataclass(frozen=True)
class AntennaFigure:
    """The drawing, its answer and its numbers.

    A row is a circle of constant standing wave ratio, or a measured antenna: which, how many of it cannot be
    matched, worst plate SWR, least output, most dissipation.
    """

    drawing: Markup
    answer: str
    measured: bool
    at: str
    reference: str
    rows: Rows


def antenna_figure(
    found: AnyAntenna, row: int, prefix: str, band: str, place: tuple[float, float]
) -> AntennaFigure:
    """Draw the antennas of one network; `place` is its frequency [Hz] and the resistance the chart refers to [ohm]."""
    frequency, resistance = place
    at, answer = format_quantity(frequency, "Hz"), _answer(found, row)
    title = f"Antennas that can and cannot be matched, {band}, {at}"
    measured, zoom, each = found.swr is None, 1.0, 1
    if measured:
        shapes = _antenna(found, row)
    else:
        outermost = float(np.abs(found.reflection[row]).max())
        zoom, each = min(_MOST_ZOOM, max(1.0, _FILL / max(outermost, 1e-9))), PHASES
        shapes = _region(found, row, zoom)
    return AntennaFigure(
        drawing=_drawing(prefix, title, f"{answer[0].upper()}{answer[1:]}.", shapes, (zoom, resistance)),
        answer=answer,
        measured=measured,
        at=at,
        reference=format_quantity(resistance, "ohm"),
        rows=tuple(_row(found, row, slice(n, n + each)) for n in range(0, found.reflection.shape[1], each)),
    )


def _answer(found: AnyAntenna, row: int) -> str:
    told = share_words(found, row)
    if found.swr is None:
        return f"the measured antenna, {load_words(found, row, 0)}: {told}"
    if found.matched[row].all():
        return f"every antenna up to an SWR of {found.swr:g} can be matched"
    worst = int(np.argmax(np.nan_to_num(found.plate_swr[row], nan=np.inf)))
    share = f"{told}, cannot" if found.matched[row].any() else "none can"
    return (
        f"of the antennas up to an SWR of {found.swr:g} {share} be matched; the worst, "
        f"{load_words(found, row, worst)}, leaves the plate an SWR of {float(found.plate_swr[row, worst]):.2f}"
    )


def _row(found: AnyAntenna, row: int, loads: slice) -> tuple[str, ...]:
    return (
        f"{float(swr_of(found.reflection[row, loads])[0]):.3g}",
        f"{100 * float(np.mean(~found.matched[row, loads])):.0f} %",
        f"{float(found.plate_swr[row, loads].max()):.2f}",
        format_quantity(float(found.output_power[row, loads].min()), "W"),
        format_quantity(float(found.plate_dissipation[row, loads].max()), "W"),
    )


def _region(found: AnyAntenna, row: int, zoom: float) -> list[str]:
    """Fill the pieces of rings that the loads stand for, neighbours joined."""
    outermost = float(np.abs(found.reflection[row]).max()) * _UNIT * zoom
    # Half a ring to either side of each circle, as the share counts them; the innermost from the middle.
    edges = [0.0, *((ring + 0.5) / RADII * outermost for ring in range(1, RADII)), outermost]
    matched = found.matched[row].reshape(RADII, PHASES)
    return [
        f'<path class="{css}" d="{_pieces(where, edges)}"/>'
        for css, where in (("can", matched), ("cannot", ~matched))
        if where.any()
    ] + [f'<circle class="outer" cx="{_CENTRE:g}" cy="{_CENTRE:g}" r="{outermost:.1f}"/>']


def _pieces(where: BoolArray, edges: Sequence[float]) -> str:
    step = 2 * np.pi / PHASES
    paths = []
    for ring, wanted in enumerate(where):
        inner, outer = edges[ring], edges[ring + 1]
        if wanted.all():
            paths.append(_circle(outer) + (_circle(inner, back=True) if inner else ""))
            continue
        starts = np.flatnonzero(wanted & ~np.roll(wanted, 1))
        for start in starts.tolist():
            length = int(np.argmin(np.roll(wanted, -start)))
            first, last = (start - 0.5) * step, (start + length - 0.5) * step
            paths.append(_sector(inner, outer, first, last))
    return "".join(paths)


def _circle(radius: float, *, back: bool = False) -> str:
    sweep = 1 if back else 0
    turn = f"A{radius:.1f} {radius:.1f} 0 1 {sweep} "
    left, right = f"{_CENTRE - radius:.1f} {_CENTRE:g}", f"{_CENTRE + radius:.1f} {_CENTRE:g}"
    return f"M{right}{turn}{left}{turn}{right}Z"


def _sector(inner: float, outer: float, first: float, last: float) -> str:
    large = 1 if last - first > np.pi else 0
    a, b, c, d = (
        _point(r * np.exp(1j * w)) for r, w in ((outer, first), (outer, last), (inner, last), (inner, first))
    )
    back = f"A{inner:.1f} {inner:.1f} 0 {large} 1 {d}" if inner else ""
    return f"M{a}A{outer:.1f} {outer:.1f} 0 {large} 0 {b}L{c}{back}Z"


def _point(offset: complex) -> str:
    return f"{_CENTRE + offset.real:.1f} {_CENTRE - offset.imag:.1f}"


def _antenna(found: AnyAntenna, row: int) -> list[str]:
    """Mark one measured antenna: a dot where it can be matched, a triangle where not."""
    spot: ComplexArray = found.reflection[row, :1] * _UNIT
    x, y = _CENTRE + float(spot[0].real), _CENTRE - float(spot[0].imag)
    if found.matched[row, 0]:
        return [f'<circle class="here" cx="{x:.1f}" cy="{y:.1f}" r="6"/>']
    return [f'<path class="here miss" d="M{x:.1f} {y - 7:.1f}l7 12.5h-14z"/>']


def _drawing(
    prefix: str, title: str, description: str, shapes: list[str], scale: tuple[float, float]
) -> Markup:
    zoom, resistance = scale
    shift = _CENTRE * (1 - zoom)
    labels = []
    for share in _LABELLED:
        x = _CENTRE + (share - 1) / (share + 1) * _UNIT * zoom
        if 10 < x < _SIZE - 40:
            ohms = format_quantity(share * resistance, "ohm", trim=True)
            labels.append(f'<text x="{x + 4:.1f}" y="{_CENTRE + 14:g}">{ohms}</text>')
    body = (
        f'<g class="under" transform="translate({shift:.1f} {shift:.1f}) scale({zoom:.3f})">'
        f'<use href="#{GRID}"/></g>{"".join(shapes)}{"".join(labels)}'
    )
    view_box = f"0 0 {_SIZE} {_SIZE}"
    attributes = f'class="plot chart antennas"{least_width(view_box, TEXT)}'
    return framed(attributes, view_box, prefix, title, description, body)
