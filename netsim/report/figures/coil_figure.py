"""The coil to scale along its axis, with the taps of every band."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from netsim.advice.taps.coil_picture import CoilPicture, PictureMark, PictureRun
from netsim.description.formatting import format_quantity
from netsim.report.figures.svg import cut, framed

_WIDTH, _EDGE = 900.0, 80.0
_LETTER, _ROW = 6.9, 17.0
_TALLEST = 260.0
_MOST_LETTERS = 14
_RULER = 200.0  # at most, in SVG units
_APART = 0.06  # of the whole length, between axes


@dataclass(frozen=True)
class _Scale:
    """Where a place along an axis is drawn; `unit` in SVG units per metre, or per turn."""

    starts: dict[int, float]
    unit: float
    by_turns: bool

    def at(self, axis: int, place: float, turns: float) -> float:
        return _EDGE + (turns if self.by_turns else self.starts[axis] + place) * self.unit


def coil_figure(picture: CoilPicture, identifier: str, name: str, end: str) -> Markup:
    """Draw a wound coil with its present taps below and its proposed ones above, named from one end.

    It is to scale where every run has a size; a core without one is drawn along its turns.
    """
    scale = _scale(picture.runs)
    radius = max((_radius(run, scale) for run in picture.runs), default=20.0)
    shapes = [_run(run, scale) for run in picture.runs]
    above, rows_above = _marks(picture.marks, "proposed", scale, -radius, picture.runs)
    below, rows_below = _marks(picture.marks, "present", scale, radius, picture.runs)
    shapes += [_segments(picture.marks, scale, radius), *above, *below]
    top, bottom = -radius - 26 - _ROW * rows_above, radius + 26 + _ROW * rows_below
    if not scale.by_turns:
        bottom += 2 * _ROW
        shapes.append(_ruler(scale, bottom - _ROW))
    shapes.append(
        Markup('<text x="{:.0f}" y="4" text-anchor="end" class="name">{}</text>').format(_EDGE - 8, end)
    )
    view_box = f"0 {top:.0f} {_WIDTH:.0f} {bottom - top:.0f}"
    title, spoken = f"The {name} with its taps", _spoken(picture, scale.by_turns)
    return framed('class="coil"', view_box, identifier, title, spoken, Markup("").join(shapes))


def _scale(runs: Sequence[PictureRun]) -> _Scale:
    """Fit everything into the width and the height, axes beside each other in the order of the winding."""
    usable = _WIDTH - 2 * _EDGE
    if any(run.kind == "toroid" for run in runs):
        return _Scale({}, usable / sum(run.turns for run in runs), by_turns=True)
    ends: dict[int, float] = {}
    for run in runs:
        ends[run.axis] = max(ends.get(run.axis, 0.0), run.place + run.length)
    gap = _APART * sum(ends.values())
    starts, position = {}, 0.0
    for axis, end in ends.items():
        starts[axis] = position
        position += end + gap
    widest = max(run.mean_diameter + run.conductor_diameter for run in runs)
    return _Scale(starts, min(usable / (position - gap), _TALLEST / widest), by_turns=False)


def _ruler(scale: _Scale, y: float) -> Markup:
    """Draw a round length in the drawing's scale, from the plate end on."""
    most = _RULER / scale.unit
    decade = 10.0 ** math.floor(math.log10(most))
    length = max(step * decade for step in (1, 2, 5) if step * decade <= most * (1 + 1e-9))
    return Markup(
        '<path class="segment ruler" d="M{:.1f} {:.1f}v8m0 -4h{:.1f}m0 -4v8"/><text x="{:.1f}" y="{:.1f}">{}</text>'
    ).format(
        _EDGE,
        y - 4,
        length * scale.unit,
        _EDGE + length * scale.unit + 8,
        y + 4,
        format_quantity(length, "m", trim=True),
    )


def _radius(run: PictureRun, scale: _Scale) -> float:
    return 20.0 if scale.by_turns else run.mean_diameter * scale.unit / 2


def _run(run: PictureRun, scale: _Scale) -> Markup:
    """Draw the front half of every turn as a slanted stroke of the conductor's width."""
    start = scale.at(run.axis, run.place, run.begin_turns)
    length = (run.turns if scale.by_turns else run.length) * scale.unit
    radius, pitch = _radius(run, scale), length / run.turns
    if run.kind == "toroid":
        return Markup(
            '<rect class="core" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" rx="8"/>'
            '<text x="{:.1f}" y="4" text-anchor="middle">toroid</text>'
        ).format(start, -radius, length, 2 * radius, start + length / 2)
    strokes = "".join(
        f"M{start + (turn + 0.25) * pitch:.1f} {-radius:.1f}L{start + (turn + 0.75) * pitch:.1f} {radius:.1f}"
        for turn in range(int(run.turns))
    )
    thickness = 1.5 if scale.by_turns else max(run.conductor_diameter * scale.unit, 0.8)
    return Markup(
        '<path class="axis" d="M{:.1f} 0H{:.1f}"/><path class="wire" stroke-width="{:.1f}" d="{}"/>'
    ).format(start, start + length, thickness, strokes)


def _segments(marks: Sequence[PictureMark], scale: _Scale, radius: float) -> Markup:
    """Draw a tick for each contact of the switch."""
    ticks = "".join(
        f"M{scale.at(mark.axis, mark.place, mark.turns):.1f} {radius + 3:.1f}v6"
        for mark in marks
        if mark.kind == "segment"
    )
    return Markup('<path class="segment" d="{}"/>').format(ticks) if ticks else Markup("")


def _marks(
    marks: Sequence[PictureMark], kind: str, scale: _Scale, edge: float, runs: Sequence[PictureRun]
) -> tuple[list[Markup], int]:
    """Draw the taps of a kind with their labels, and count the rows that these take.

    A label ends at its leader and lies farther out than all it would touch to its left; so no leader
    crosses a label.
    """
    away = 1 if edge > 0 else -1
    ends: list[float] = []
    drawn = []
    for mark in marks:
        if mark.kind != kind:
            continue
        x = scale.at(mark.axis, mark.place, mark.turns)
        label = f"{', '.join(cut(name, _MOST_LETTERS) for name in mark.bands)} · {mark.turns:g}"
        right = max(x + 3, _LETTER * len(label))
        row = next((row for row, end in enumerate(ends) if end < right - _LETTER * len(label)), len(ends))
        # What is nearer than this row is passed by the leader, so it is taken up to here.
        ends[: row + 1] = [max(end, right + _LETTER) for end in ends[:row]] + [right + _LETTER]
        y = edge + away * (18 + _ROW * row)
        start = away * _radius(_run_at(runs, mark.turns), scale)
        drawn.append(
            Markup(
                '<path class="{}" d="M{:.1f} {:.1f}V{:.1f}"/><text x="{:.1f}" y="{:.1f}" class="{}">{}</text>'
            ).format(kind, x, start, y - away * 4, right, y + (12 if away > 0 else -2), kind, label)
        )
    return drawn, len(ends)


def _run_at(runs: Sequence[PictureRun], turns: float) -> PictureRun:
    return next((run for run in runs if turns <= run.begin_turns + run.turns), runs[-1])


def _spoken(picture: CoilPicture, by_turns: bool) -> str:
    turns = sum(run.turns for run in picture.runs)
    length = sum(run.length for run in picture.runs)
    size = (
        "drawn along its turns" if by_turns else f"{format_quantity(length, 'm')} of winding, drawn to scale"
    )
    present, proposed = (sum(mark.kind == kind for mark in picture.marks) for kind in ("present", "proposed"))
    above = f", {proposed} proposed above" if proposed else ""
    return f"{turns:g} turns, {size}; {present} taps in use below{above}."
