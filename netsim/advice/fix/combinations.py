"""Which combinations of one trial clear what, and which parts with higher ratings would clear the rest."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, combinations

import numpy as np

from netsim.advice.fix.array_verdict import Check
from netsim.advice.fix.networks import Choices, IntArray, Picks, Trial, Verdict
from netsim.advice.fix.preferred_values import HIGHEST_RATING
from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray

_MOST_ALIKE = 16
"""Combinations of one variant and one weight that are looked at."""

_SHARED = {
    (f"{side}_{kind}", code)
    for side in ("tune", "load")
    for kind in ("capacitor", "padding")
    for code in ("part_current", "part_reactive_power")
}
"""What a padding changes although the match stays the same: it takes current off the variable part."""


@dataclass(frozen=True)
class Pricing:
    """The picks of a trial, priced.

    Attributes
    ----------
    picks : Picks
        What was looked at.
    weight : ndarray of int
        Of each pick.
    over, close : ndarray of bool
        Shape ``(checks, picks)``.
    part : list of str
        Of each check: the part whose replacement by one of a higher rating clears it; empty if none does.
    off_target : ndarray
        ``|ln(loaded Q / target)|`` of each pick.
    """

    picks: Picks
    weight: IntArray
    over: BoolArray
    close: BoolArray
    part: list[str]
    off_target: FloatArray

    def best(self, replaced: frozenset[str]) -> "Selection":
        """Choose for each band what is best when these parts have whatever ratings are needed."""
        kept = np.array([part not in replaced for part in self.part])
        over, close = self.over[kept].sum(axis=0), self.close[kept].sum(axis=0)
        order = np.lexsort((self.off_target, close, self.weight, over, self.picks.band))
        _, first = np.unique(self.picks.band[order], return_index=True)
        chosen = order[first]
        key = (
            int(over[chosen].sum()),
            int(self.weight[chosen].sum()),
            int(close[chosen].sum()),
            float(self.off_target[chosen].sum()),
        )
        return Selection(replaced, chosen, key)

    def sets(self, already: frozenset[str]) -> Iterator[frozenset[str]]:
        """Give every set of parts that might be worth replacing, the smallest first."""
        useful = sorted(
            {p for p, over in zip(self.part, self.over, strict=True) if p and over.any()} - already
        )
        sizes = (combinations(useful, size) for size in range(len(useful) + 1))
        for chosen in chain.from_iterable(sizes):
            yield already | frozenset(chosen)


@dataclass(frozen=True)
class Selection:
    """One pick for each band.

    Attributes
    ----------
    replaced : frozenset of str
        Parts with whatever ratings are needed.
    chosen : ndarray of int
        Positions in the pricing's picks, by band.
    key : tuple
        What remains over, weight of the picks, what remains close, distance from the target loaded Q.
    """

    replaced: frozenset[str]
    chosen: IntArray
    key: tuple[int, int, int, float]


def least_weights(trial: Trial, feasible: Sequence[BoolArray]) -> tuple[int, int]:
    """Bound what a trial can achieve: bands that cannot be cleared, and the least weight of the others."""
    hopeless, weight = 0, 0
    for choice, possible in zip(trial.choices, feasible, strict=True):
        if possible.any():
            weight += int(choice.weight[possible].min())
        else:
            hopeless += 1
    return hopeless, weight


def price(trial: Trial, feasible: Sequence[BoolArray]) -> Pricing:
    """Solve all combinations that can be the best, and price them.

    Parameters
    ----------
    trial : Trial
    feasible : sequence of ndarray of bool
        From ``trial.feasible()``.

    Notes
    -----
    Of each variant only the paddings of least weight are solved, as others lead to the same match at
    more weight; where a variable capacitor carries too much, the others follow.
    """
    picks = Picks.joined(
        [
            _cheapest(number, choice, possible) if possible.any() else _single(number, choice)
            for number, (choice, possible) in enumerate(zip(trial.choices, feasible, strict=True))
        ]
    )
    verdict = trial.judge(picks)
    over = np.stack([used > 1 for used in verdict.used.values()])
    shared = np.array([(check.part, check.code) in _SHARED for check in verdict.used])
    relieved = over[shared].any(axis=0)
    if relieved.any():
        more = _relief(trial, feasible, picks, relieved)
        if len(more):
            picks = Picks.joined([picks, more])
            verdict = trial.judge(picks)
    return _priced(trial, picks, verdict)


def _cheapest(number: int, choice: Choices, possible: BoolArray) -> Picks:
    weight = np.where(possible, choice.weight, np.iinfo(np.intp).max)
    flat = weight.reshape(len(weight), -1)
    least = flat.min(axis=1, keepdims=True)
    good = (flat == least) & possible.reshape(flat.shape)
    rank = np.cumsum(good, axis=1)
    variant, place = np.nonzero(good & (rank <= _MOST_ALIKE))
    return _picks(number, choice, variant, place)


def _single(number: int, choice: Choices) -> Picks:
    """Single moves of a band that cannot be cleared, to leave as little over as possible."""
    variants, tunes, loads = choice.weight.shape
    variant = np.concatenate([np.arange(variants), np.zeros(tunes + loads, dtype=np.intp)])
    place = np.concatenate([np.zeros(variants, dtype=np.intp), np.arange(tunes) * loads, np.arange(loads)])
    return _picks(number, choice, variant, place)


def _relief(trial: Trial, feasible: Sequence[BoolArray], picks: Picks, relieved: BoolArray) -> Picks:
    """All other paddings of the variants whose capacitors carry too much."""
    found = [_picks(0, trial.choices[0], np.empty(0, np.intp), np.empty(0, np.intp))]
    for number, choice in enumerate(trial.choices):
        here = (picks.band == number) & relieved
        variants = np.unique(picks.variant[here])
        if not variants.size or not feasible[number].any():
            continue
        possible = np.zeros_like(feasible[number])
        possible[variants] = feasible[number][variants]
        known = picks.band == number
        possible[picks.variant[known], picks.tune[known], picks.load[known]] = False
        variant, place = np.nonzero(possible.reshape(len(possible), -1))
        found.append(_picks(number, choice, variant, place))
    return Picks.joined(found)


def _picks(number: int, choice: Choices, variant: IntArray, place: IntArray) -> Picks:
    loads = choice.weight.shape[2]
    return Picks(np.full(len(variant), number), variant, place // loads, place % loads)


def _priced(trial: Trial, picks: Picks, verdict: Verdict) -> Pricing:
    used = np.stack(list(verdict.used.values()))
    margin = np.array([verdict.columns[check].close for check in verdict.used])
    weight = np.array(
        [
            trial.choices[b].weight[v, t, k]
            for b, v, t, k in zip(picks.band, picks.variant, picks.tune, picks.load, strict=True)
        ]
    )
    target = trial.description.limits.target_loaded_q
    with np.errstate(invalid="ignore", divide="ignore"):
        off = np.abs(np.log(np.maximum(verdict.loaded_q, 1e-6) / target))
    # A rating that would have to be far higher is out of the question: such a pick stays over.
    parts = [_replaceable(check, verdict) for check in verdict.used]
    rows, part, kept_close = [], [], []
    for row, name, limit in zip(used, parts, margin, strict=True):
        within_reach = row <= HIGHEST_RATING * limit
        rows += [(row > 1) & within_reach, (row > 1) & ~within_reach] if name else [row > 1]
        kept_close += [(row > limit) & (row <= 1)] + ([np.zeros(len(row), dtype=bool)] if name else [])
        part += [name, ""] if name else [""]
    return Pricing(picks, weight, np.stack(rows), np.stack(kept_close), part, off)


def _replaceable(check: Check, verdict: Verdict) -> str:
    return check.part if verdict.columns[check].rating is not None else ""
