"""What combinations leave over, and which parts with higher ratings would clear the rest."""

from collections.abc import Sequence, Set
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from netsim.advice.band_changes import Choices
from netsim.advice.band_networks import BandNetworks, Picks
from netsim.advice.change import WEIGHTS
from netsim.advice.outcome import CLOSE, OVER, Outcome
from netsim.advice.preferred_values import SLIP
from netsim.circuit.elements import FloatArray, IndexArray
from netsim.circuit.tuning import BoolArray

_MOST_ALIKE = 16
"""Combinations of one variant and one weight that are looked at."""

_MOST_PICKS = 600
"""Combinations of one band that are solved at a time."""

_MOST_RELIEVED = 64
"""Paddings of one variant among which relief for a capacitor is looked for whole."""

_SHARING = ("tune_capacitor", "tune_padding", "load_capacitor", "load_padding")
_SHARED = ("part_current", "part_reactive_power")
"""What a padding changes although the match stays the same: it takes current off the variable part."""


class Key(NamedTuple):
    """What a search makes small, in this order."""

    over: int
    weight: int
    close: int
    off_target: float


@dataclass(frozen=True)
class Pricing:
    """Combinations of some bands, priced.

    Attributes
    ----------
    picks, outcome, weight, off_target : Picks, Outcome, ndarray, ndarray
        What was looked at, how it came out, what each counts, and its ``|ln(loaded Q / target)|``.
    part : list of str
        Parts of which a higher rating clears something.
    over, close : ndarray of int
        How many checks are, shape ``(1 + parts, picks)``: first what no rating clears, then by part.
    """

    networks: BandNetworks
    picks: Picks
    weight: IndexArray
    part: list[str]
    over: IndexArray
    close: IndexArray
    off_target: FloatArray
    outcome: Outcome

    def best(self, replaced: Set[str]) -> tuple[Key, IndexArray]:
        """Choose for each band what is best when these parts have whatever ratings are needed."""
        kept = np.array([True, *(part not in replaced for part in self.part)])
        over, close = self.over[kept].sum(axis=0), self.close[kept].sum(axis=0)
        order = np.lexsort((self.off_target, close, self.weight, over, self.picks.band))
        _, first = np.unique(self.picks.band[order], return_index=True)
        chosen = order[first]
        over, weight, close = (int(values[chosen].sum()) for values in (over, self.weight, close))
        return Key(over, weight, close, float(self.off_target[chosen].sum())), chosen

    def slips(self, chosen: IndexArray, replaced: Set[str]) -> set[tuple[str, str]]:
        """Return parts and ratings that these combinations use so often over that one asks whether it is a slip."""
        highest = self.outcome.strain[:, :, chosen].max(axis=(1, 2))
        rated = zip(self.outcome.checks, self.outcome.rating, highest, strict=True)
        return {(c.part, key) for c, key, used in rated if key and c.part in replaced and used > SLIP}

    def cheapest(self, parts: Sequence[str], replaced: BoolArray) -> tuple[IndexArray, IndexArray]:
        """Return what remains over and the weight of the bands, for sets of replaced parts, ``(sets, parts)``."""
        place = [parts.index(part) for part in self.part]
        rows = np.vstack([self.picks.band, self.weight, self.over])
        alike = np.unique(rows, axis=1)  # bands come out in order
        kept = (~replaced[:, place]).astype(np.intp) if place else np.empty((len(replaced), 0), dtype=np.intp)
        key = (alike[2] + kept @ alike[3:]) * _OVER + alike[1]
        starts = np.flatnonzero(np.diff(alike[0], prepend=-1))
        least = np.minimum.reduceat(key, starts, axis=1).sum(axis=1)
        return least // _OVER, least % _OVER


_OVER = 1_000_000


def least_weights(networks: BandNetworks, feasible: Sequence[BoolArray]) -> tuple[int, int]:
    """Return bounds of what is possible: how much stays over at least, and the least weight of the bands.

    A band that matches with no combination stays over; so does the heat of a plate that sees its load, which
    depends on the stage alone, or on nothing else that could be less.
    """
    over, weight = 0, 0
    for number, (choice, possible) in enumerate(zip(networks.choices, feasible, strict=True)):
        hot = networks.too_hot(number)
        if possible.any():
            over += hot
            weight += int(choice.weight[possible].min())
        else:
            over += max(hot, 1)
    return over, weight


def price(networks: BandNetworks, feasible: Sequence[BoolArray]) -> Pricing:
    """Solve all combinations that can be the best, by ``networks.feasible()``, and price them.

    Notes
    -----
    Of each variant only the paddings of least weight are solved, as others lead to the same match at
    more weight; where a variable capacitor carries too much, the others follow.
    """
    picks = Picks.joined(
        [
            _cheapest(number, choice, possible) if possible.any() else _single(number, choice)
            for number, (choice, possible) in enumerate(zip(networks.choices, feasible, strict=True))
        ]
    )
    outcome = networks.outcome(picks)
    relieved = _relieved(picks, outcome, len(networks.choices))
    if relieved.any():
        more = _relief(networks.choices, feasible, picks, relieved)
        if len(more):
            picks = Picks.joined([picks, more])
            outcome = networks.outcome(picks)
    return _priced(networks, picks, outcome)


def _cheapest(number: int, choice: Choices, possible: BoolArray) -> Picks:
    weight = np.where(possible, choice.weight, np.iinfo(np.intp).max)
    flat = weight.reshape(len(weight), -1)
    least = flat.min(axis=1, keepdims=True)
    good = (flat == least) & possible.reshape(flat.shape)
    rank = np.cumsum(good, axis=1)
    alike = max(1, min(_MOST_ALIKE, _MOST_PICKS // max(int(good.any(axis=1).sum()), 1)))
    variant, place = np.nonzero(good & (rank <= alike))
    return _picks(number, choice, variant, place)


def _single(number: int, choice: Choices) -> Picks:
    """Single changes of a band that cannot be cleared, to leave as little over as possible."""
    variants, tunes, loads = choice.weight.shape
    variant = np.concatenate([np.arange(variants), np.zeros(tunes + loads, dtype=np.intp)])
    place = np.concatenate([np.zeros(variants, dtype=np.intp), np.arange(tunes) * loads, np.arange(loads)])
    return _picks(number, choice, variant, place)


def _relieved(picks: Picks, outcome: Outcome, bands: int) -> BoolArray:
    """Tell of which combinations another padding may take current off a capacitor that carries too much.

    Not where so many bands want one that a part of higher rating takes less.
    """
    over = (outcome.state == OVER).any(axis=1)
    # What is infinite no rating holds.
    reach = np.isfinite(outcome.strain.max(axis=1))
    found = np.zeros(len(picks), dtype=np.bool_)
    for part in _SHARING:
        rows = [n for n, c in enumerate(outcome.checks) if c.part == part and c.code in _SHARED]
        carrying = over[rows].any(axis=0)
        forced = np.ones(bands, dtype=np.bool_)
        np.logical_and.at(forced, picks.band, carrying)
        if forced.sum() * WEIGHTS["padding"] < PART or not reach[rows][:, carrying].all():
            found |= carrying
    return found


def _relief(
    choices: Sequence[Choices], feasible: Sequence[BoolArray], picks: Picks, relieved: BoolArray
) -> Picks:
    """Other paddings of the variants whose capacitors carry too much: all if they are few, else side by side."""
    found = [picks.take(np.empty(0, np.intp))]
    for number, choice in enumerate(choices):
        known = picks.band == number
        here = np.flatnonzero(known & relieved)
        if not here.size or not feasible[number].any():
            continue
        possible = np.zeros_like(feasible[number])
        for variant in np.unique(picks.variant[here]):
            one = here[picks.variant[here] == variant][0]
            wanted = feasible[number][variant]
            if wanted.sum() > _MOST_RELIEVED:
                sides = np.zeros_like(wanted)
                sides[picks.tune[one]] = sides[:, picks.load[one]] = True
                wanted = wanted & sides
            possible[variant] = wanted
        possible[picks.variant[known], picks.tune[known], picks.load[known]] = False
        flat = possible.reshape(len(possible), -1)
        if flat.sum() > _MOST_PICKS:  # of each variant as many, evenly over what there is
            each = max(1, _MOST_PICKS // max(int(flat.any(axis=1).sum()), 1))
            rank, count = np.cumsum(flat, axis=1), flat.sum(axis=1, keepdims=True)
            flat = flat & (rank * each // np.maximum(count, 1) > (rank - 1) * each // np.maximum(count, 1))
        variant, place = np.nonzero(flat)
        found.append(_picks(number, choice, variant, place))
    return Picks.joined(found)


def _picks(number: int, choice: Choices, variant: IndexArray, place: IndexArray) -> Picks:
    loads = choice.weight.shape[2]
    return Picks(np.full(len(variant), number), variant, place // loads, place % loads)


def _priced(networks: BandNetworks, picks: Picks, outcome: Outcome) -> Pricing:
    weight = np.array(
        [
            networks.choices[b].weight[v, t, k]
            for b, v, t, k in zip(picks.band, picks.variant, picks.tune, picks.load, strict=True)
        ],
        dtype=np.intp,
    )
    over, close = ((outcome.state == which).sum(axis=1) for which in (OVER, CLOSE))
    # What is infinite no rating holds.
    reach = np.isfinite(outcome.strain.max(axis=1))
    rated = [rating and check.part for check, rating in zip(outcome.checks, outcome.rating, strict=True)]
    parts = sorted({part for part, row in zip(rated, over, strict=True) if part and row.any()})
    by_part = np.zeros((2, 1 + len(parts), len(picks)), dtype=np.intp)
    for place, name in enumerate(rated):
        part = 1 + parts.index(name) if name in parts else 0
        by_part[0, part] += np.where(reach[place], over[place], 0)
        by_part[0, 0] += np.where(reach[place], 0, over[place])
        by_part[1, part] += close[place]
    return Pricing(networks, picks, weight, parts, by_part[0], by_part[1], outcome.off_target, outcome)


PART = WEIGHTS["part"]
"""What a part of higher rating counts."""
