"""Which place each tap should have, and which bands share it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from netsim.advice.taps.tap_obstacle import Obstacle, Rows, obstacle
from netsim.advice.taps.tap_search import TapSearch
from netsim.analysis import Result

_SAME = 1e-6
_WORTH = 0.05
"""Relative distance of the loaded Q from its target that is worth an explanation."""


@dataclass(frozen=True)
class Choice:
    """The place chosen for a tap, and what is in the way of a better one.

    Attributes
    ----------
    place : int or None
        Its index in the search; None if none serves.
    obstacle : Obstacle or None
        What of the parts is in the way at the stage as it stands.
    held_by : tuple of str
        Operating points that cannot be tuned where the tap would be without them.
    free : int or None
        That place.
    """

    place: int | None
    obstacle: Obstacle | None
    held_by: tuple[str, ...] = ()
    free: int | None = None


def shared(walked: Result) -> list[list[int]]:
    """Bands (indices in the file) grouped by the tap that they share."""
    groups: list[list[int]] = []
    bands = walked.amplifier.description.bands
    for index, _, _ in walked.solved.bands():
        turns = bands[index].coil_turns
        if turns is None:
            continue
        same = [g for g in groups if abs((bands[g[0]].coil_turns or 0.0) - turns) < _SAME]
        if same:
            same[0].append(index)
        else:
            groups.append([index])
    return groups


def choices(walked: Result, found: TapSearch) -> dict[int, Choice]:
    """Choose a place for every tap; by band."""
    return {index: choose(walked, found, group) for group in shared(walked) for index in group}


def choose(walked: Result, found: TapSearch, bands: Sequence[int]) -> Choice:
    """Choose the place of one tap for all of some bands (indices in the file); see `taps.taps`."""
    solved = walked.solved
    target = walked.amplifier.description.limits.target_loaded_q
    present = walked.amplifier.description.bands[bands[0]].coil_turns or 0.0
    by_band = {index: rows for index, _, rows in solved.bands()}
    rows: Rows = np.concatenate([by_band[index] for index in bands])
    first = [by_band[index][0] for index in bands]
    with np.errstate(invalid="ignore", divide="ignore"):
        away = np.abs(np.log(found.loaded_q[:, first] / target)).max(axis=1)
    away = np.where(np.isnan(away), np.inf, away)
    serves, matched = (which[:, rows].all(axis=1) for which in (found.serves, found.tuned))
    parts = solved.assembly.parts
    # Where the capacitors may be anything: it tells what would have to be mended to get there.
    ideal = int(np.argmin(away)) if np.isfinite(away).any() else found.nearest(present)
    free = int(np.argmin(np.where(matched, away, np.inf))) if matched.any() else None
    held = () if free is None else [n for n, ok in found.at_points.items() if not ok[free, rows].all()]
    if not serves.any():
        return Choice(None, obstacle(parts, found, rows, ideal), tuple(held), free)
    place = int(np.argmin(np.where(serves, away, np.inf)))
    blocked = away[place] > away[ideal] + _WORTH
    return Choice(place, obstacle(parts, found, rows, ideal) if blocked else None, tuple(held), free)
