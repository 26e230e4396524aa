"""The tank coil to scale along its axis, with its taps: lengths in metres, for whoever draws it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from netsim.advice.taps.tap_advice import TapsAdvice
from netsim.analysis import Analysis
from netsim.circuit.coil.winding import PlacedRun, Solenoid, place_runs

_SAME = 1e-6

MarkKind = Literal["present", "proposed", "segment"]


@dataclass(frozen=True)
class PictureRun:
    """A stretch of winding that is alike all along; lengths in [m], 0 for a toroid, of which no size is known.

    Attributes
    ----------
    axis : int
        Runs of one number stand on one line; another number stands at a right angle or apart.
    begin_turns, turns : float
        First turn counted from the plate end of the whole coil, and how many.
    place, length : float
        Along the axis.
    """

    kind: Literal["solenoid", "toroid"]
    axis: int
    begin_turns: float
    turns: float
    place: float
    length: float
    mean_diameter: float
    pitch: float
    conductor_diameter: float


@dataclass(frozen=True)
class PictureMark:
    """A tap: of which bands, where in turns, and where along which axis [m]."""

    kind: MarkKind
    bands: tuple[str, ...]
    turns: float
    axis: int
    place: float


@dataclass(frozen=True)
class CoilPicture:
    """What a drawing to scale needs: the runs from the plate end, and the marks from the plate end."""

    runs: tuple[PictureRun, ...]
    marks: tuple[PictureMark, ...]
    unused_turns: str


def coil_picture(
    walked: Analysis, advice: TapsAdvice | None = None, name: Literal["coil", "output_coil"] = "coil"
) -> CoilPicture | None:
    """Lay a wound coil out along its axis, the tank coil with the proposed taps; None where no band counts in turns."""
    wound = walked.solved.assembly.wound[name]
    if wound is None:
        return None
    winding = wound.winding
    placed = place_runs(winding.sections)
    present = [
        (band.name, turns)
        for band in walked.amplifier.description.bands
        if (turns := getattr(band, f"{name}_turns")) is not None
    ]
    proposed = [
        (band.name, band.proposed.coil_turns)
        for band in (advice.bands if advice is not None and name == "coil" else ())
        if band.proposed is not None and band.proposed.coil_turns is not None
    ]
    marks = [
        *_marks("present", present, placed),
        *_marks("proposed", proposed, placed),
        *_marks("segment", [("", turns) for turns in winding.taps], placed),
    ]
    return CoilPicture(
        tuple(_run(item) for item in placed),
        tuple(sorted(marks, key=lambda mark: mark.turns)),
        winding.unused_turns,
    )


def _place(placed: Sequence[PlacedRun], turns: float) -> tuple[int, float]:
    ends = np.array([item.start + item.run.turns for item in placed])
    item = placed[min(int(np.searchsorted(ends, turns - _SAME)), len(placed) - 1)]
    pitch = item.run.pitch if isinstance(item.run, Solenoid) else 0.0
    return item.axis, item.place + float(item.local(turns)) * pitch


def _run(item: PlacedRun) -> PictureRun:
    run = item.run
    if isinstance(run, Solenoid):
        sizes = run.mean_diameter, run.pitch, run.conductor_diameter
        return PictureRun(
            "solenoid", item.axis, item.start, run.turns, item.place, run.turns * run.pitch, *sizes
        )
    return PictureRun("toroid", item.axis, item.start, run.turns, item.place, 0.0, 0.0, 0.0, 0.0)


def _marks(
    kind: MarkKind, taps: Sequence[tuple[str, float]], placed: Sequence[PlacedRun]
) -> list[PictureMark]:
    """Make one mark for each place, with the names of all bands that use it."""
    together: dict[float, list[str]] = {}
    for band, turns in taps:
        same = [place for place in together if abs(place - turns) < _SAME]
        together.setdefault(same[0] if same else turns, []).append(band)
    return [
        PictureMark(kind, tuple(name for name in names if name), turns, *_place(placed, turns))
        for turns, names in together.items()
    ]
