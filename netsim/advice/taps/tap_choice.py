"""Which place each tap should have, and which bands share it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from netsim.advice.band_changes import places, variants
from netsim.advice.change import Change, applied, edits_of, plain_edit, with_contacts
from netsim.advice.loaded_q_design import QDefinition
from netsim.advice.taps.tap_obstacle import Obstacle, obstacle
from netsim.advice.taps.tap_search import TapSearch, search
from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.elements import FloatArray
from netsim.description.models.amplifier import Band, Description
from netsim.description.reader import Amplifier

_SAME = 1e-6
_WORTH = 0.05
"""Relative distance of the loaded Q from its target that is worth an explanation."""

_MOST_ROUNDS = 6
"""Times that taps are chosen anew where the loops of each depend on the contacts of the others."""

_MANY_PLACES, _FINEST = 400, 1.01
"""Places of a tap from which on they are tried no closer than a percent of the turns: two of the inductance."""


@dataclass(frozen=True)
class Choice:
    """The place chosen for a tap or coil, and what is in the way of a better one.

    Attributes
    ----------
    found, place : TapSearch, int or None
        Of the band, at every place, and the index of that chosen; None if none serves.
    obstacle : Obstacle or None
        What of the parts is in the way at the stage as it stands.
    held_by, free : tuple of str, int or None
        Operating points that cannot be tuned where the tap would be without them, and that place.
    """

    found: TapSearch
    place: int | None
    obstacle: Obstacle | None
    held_by: tuple[str, ...] = ()
    free: int | None = None

    @property
    def turns(self) -> float | None:
        """The place [turns]; None if there is none, or the coil is given by its inductance."""
        turns = np.nan if self.place is None else float(self.found.turns[self.place])
        return None if np.isnan(turns) else turns


def shared(bands: Sequence[Band], unplaced: frozenset[int] = frozenset()) -> list[list[int]]:
    """Return bands that count in turns, by their indices, grouped by the tap that they share."""
    groups: list[list[int]] = []
    for index, band in enumerate(bands):
        turns = band.coil_turns
        if turns is None:
            continue
        same = [
            g
            for g in groups
            if not {index, *g} & unplaced and abs((bands[g[0]].coil_turns or 0.0) - turns) < _SAME
        ]
        if same:
            same[0].append(index)
        else:
            groups.append([index])
    return groups


def choices(
    amplifier: Amplifier,
    description: Description,
    wound: Mapping[str, WoundCoil | None],
    unplaced: frozenset[int] = frozenset(),
    only: frozenset[int] | None = None,
    definition: QDefinition = "loaded",
) -> tuple[dict[int, Choice], dict[int, Choice], tuple[Change, ...]]:
    """Choose a place for the tap, or a coil, of every band.

    Parameters
    ----------
    amplifier, description : Amplifier, Description
        The file, for its lines, and the amplifier as it stands; a matched antenna, no tube.
    wound : mapping of str to WoundCoil or None
        Its windings.
    unplaced, only : frozenset of int
        Bands, by index, whose place in the description stands for none, and bands to choose for; all by default.
    definition : {"loaded", "stored-energy"}
        Of the loaded Q whose target is aimed at.

    Returns
    -------
    chosen, alone : dict of int to Choice
        By band; for bands that share a tap the best compromise, and what each would have by itself.
    changes : tuple of Change
        What moves the taps, the contacts of the switch with them.

    Notes
    -----
    Of all places at which a band tunes at every frequency and operating point the one is taken whose loaded Q
    at the first frequency is nearest to the target, by ratio; for a shared tap that whose worst band is nearest.
    Where the loops of a tap depend on the contacts of others, all are chosen anew until none moves any more.
    """
    groups = shared(description.bands, unplaced)
    groups += [[n] for n, band in enumerate(description.bands) if band.coil_turns is None]
    groups = [group for group in groups if only is None or only.issuperset(group)]
    turning = description.network.coil.unused_turns == "progressive"
    here, changes = description, tuple[Change, ...]()
    searches: dict[int, TapSearch] = {}
    chosen: dict[int, Choice] = {}
    for _ in range(_MOST_ROUNDS if turning else 1):
        searches = {
            index: search(
                amplifier,
                here,
                index,
                _bands_tried(description, index, wound),
                [*group, *unplaced],
                definition,
            )
            for group in groups
            for index in group
        }
        chosen = {index: _choose(here, searches, group, index) for group in groups for index in group}
        moved = _changes(description, chosen, unplaced)
        if moved == changes:
            break
        changes = moved
        here = applied(description, edits_of(changes)) if turning else description
    alone = {
        index: chosen[index] if len(group) == 1 else _choose(here, searches, [index], index)
        for group in groups
        for index in group
    }
    return chosen, alone, changes


def _bands_tried(description: Description, index: int, wound: Mapping[str, WoundCoil | None]) -> list[Band]:
    """Return the band with every place on its winding, or with every coil that a change could give it."""
    free = description.bands[index].model_copy(update={"tune": None, "load": None})
    coil = wound["coil"]
    if free.coil_turns is None:
        tried = [variant.band for variant in variants(description, index, wound) if len(variant.changes) < 2]
        every = {band.coil: band.coil for band in tried if band.output_coil == free.output_coil}
        return [free.model_copy(update={"coil": value}) for value in every]
    assert coil is not None  # what the turns are counted on
    present = np.array([band.coil_turns for band in description.bands if band.coil_turns is not None])
    every_place = places(coil.winding, description.network.coil.tap_step, present)
    return [
        free.model_copy(update={"coil_turns": float(turns)})
        for turns in _distinguishable(every_place, present)
    ]


def _distinguishable(every: FloatArray, present: FloatArray) -> FloatArray:
    """Leave out of very many places those that hardly differ from the one before, the present ones kept."""
    if len(every) <= _MANY_PLACES:
        return every
    kept = [float(every[0])]
    for turns in every[1:]:
        if turns >= kept[-1] * _FINEST or np.isclose(turns, present).any() or turns == every[-1]:
            kept.append(float(turns))
    return np.array(kept)


def _choose(
    description: Description, searches: Mapping[int, TapSearch], group: Sequence[int], index: int
) -> Choice:
    """Choose the place of one tap for a group of bands, and look at it from one of them."""
    some, found = [searches[n] for n in group], searches[index]
    target = description.limits.target_loaded_q
    with np.errstate(invalid="ignore", divide="ignore"):
        away = np.max([np.abs(np.log(one.loaded_q[:, 0] / target)) for one in some], axis=0)
    away = np.where(np.isnan(away), np.inf, away)
    serves = np.all([one.serves for one in some], axis=0)
    matched = np.all([one.tuned.all(axis=1) for one in some], axis=0)
    # Where the capacitors may be anything: it tells what would have to be mended to get there.
    present = description.bands[index].coil_turns or 0.0
    ideal = int(np.argmin(away)) if np.isfinite(away).any() else found.nearest(present)
    free = int(np.argmin(np.where(matched, away, np.inf))) if matched.any() else None
    held = {
        name: None
        for one in some
        for name, tuned in one.at_points.items()
        if free is not None and not tuned[free].all()
    }
    if not serves.any():
        return Choice(found, None, obstacle(some, ideal), tuple(held), free)
    place = int(np.argmin(np.where(serves, away, np.inf)))
    blocked = away[place] > away[ideal] + _WORTH
    return Choice(found, place, obstacle(some, ideal) if blocked else None, tuple(held), free)


def _changes(
    description: Description, chosen: Mapping[int, Choice], unplaced: frozenset[int]
) -> tuple[Change, ...]:
    changes = []
    for index, choice in sorted(chosen.items(), key=lambda item: item[0]):
        band, turns = description.bands[index], choice.turns
        if turns is None or (index not in unplaced and abs(turns - (band.coil_turns or 0.0)) < _SAME):
            continue
        edit = plain_edit(("bands", index, "coil_turns"), float(f"{turns:.9g}"))
        title = f"coil tap {turns:g} turns"
        changes.append(Change("tap", f"bands[{index}].coil_turns", band.name, title, (edit,)))
    return with_contacts(description, changes, unplaced)
