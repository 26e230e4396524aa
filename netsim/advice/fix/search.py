"""The smallest set of changes that clears everything over."""

import heapq
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from netsim.advice.band_changes import Choices
from netsim.advice.band_networks import BandNetworks, grouped
from netsim.advice.change import Change, applied, edits_of
from netsim.advice.fix.pricing import PART, Key, Pricing, least_weights, price
from netsim.circuit.elements import IndexArray
from netsim.circuit.tuning import BoolArray
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError

MOST_NETWORKS = 80_000
"""Networks that a search solves, or does what takes as long, in its first stage, which is the default and the least."""

_NEXT_STAGE = 4
"""How many times as many networks as the stage before each further one may solve."""

WITH_TUBE, _BESIDE_TUBE = 40, 4
"""How many networks one counts whose tube settles with it, as it takes so much longer; and how often all else."""

_MOST_HOPELESS = 12
"""Configurations looked at that cannot clear everything; beyond, the best of them is no more certain."""

_MOST_IN_VAIN = 150
"""Configurations solved while something remains over, since the last that left less."""

_MATCH_SHARE = 15
"""As many networks are matched in closed form in the time that one takes to be solved."""

_OPENING, _PRICING = 200, 400
"""Networks that could be solved in the time that a configuration takes beside, to be matched and to be solved."""

_FOR_OPENING = 2 / 3
"""Share of the budget that may go into what is not solved yet."""

_MOST_TIES = 8


@dataclass(frozen=True)
class Configuration:
    """Parts of the amplifier that change the network, and what is done in any case; nothing of single bands."""

    replacements: tuple[Change, ...]
    standing: tuple[Change, ...] = ()

    @property
    def changes(self) -> tuple[Change, ...]:
        """All changes."""
        return (*self.standing, *self.replacements)

    @property
    def weight(self) -> int:
        """Sum of the changes' weights."""
        return sum(change.weight for change in self.changes)

    @property
    def parts(self) -> frozenset[str]:
        """Names of the parts that are replaced."""
        return frozenset({change.part for change in self.changes} - {""})


@dataclass(frozen=True)
class Found:
    """The best that a search found.

    Attributes
    ----------
    replaced : frozenset of str
        Parts that get higher ratings.
    key : Key
        How good it is.
    tried, networks : int
        How many combinations were solved, and how many networks that took, or could have been solved in that time.
    ended_early : bool
        Whether the budget ended before the search did.
    """

    configuration: Configuration
    band_changes: tuple[Change, ...]
    replaced: frozenset[str]
    key: Key
    tried: int = 0
    networks: int = 0
    ended_early: bool = False

    @property
    def identity(self) -> tuple[object, ...]:
        """What tells it from other sets of changes."""
        return tuple(c.key for c in (*self.configuration.changes, *self.band_changes)), self.replaced


@dataclass(order=True)
class _Open:
    """A configuration with a bound on its key, best first."""

    bound: tuple[int, int]
    number: int
    configuration: Configuration = field(compare=False)
    groups: "list[BandNetworks] | None" = field(compare=False, default=None)
    feasible: list[list[BoolArray]] = field(compare=False, default_factory=list)


def stages(budget: int) -> Iterator[int]:
    """Return how many networks may be solved by the end of each stage of a search; at least one stage.

    A search goes the same way whatever its budget is, and tells its best at the end of a stage alone, so that what a
    larger budget finds is never worse.
    """
    return itertools.takewhile(lambda limit: limit <= max(budget, MOST_NETWORKS), _limits())


def next_stage(budget: int) -> int:
    """Return the budget with which a search goes a stage further than with another."""
    return next(limit for limit in _limits() if limit > budget)


def _limits() -> Iterator[int]:
    limit = MOST_NETWORKS
    while True:
        yield limit
        limit *= _NEXT_STAGE


class Search:
    """The search for the set of changes with least over, then least weight, then least close.

    Parameters
    ----------
    amplifier, choices : Amplifier, sequence of Choices
        And what can be done to each of its bands.
    groups : sequence of sequences of Change
        Of each group one change is made, or none.
    standing : sequence of Change
        Made in any case.

    Attributes
    ----------
    tried, spent : int
        How many combinations were solved, and how many networks that took, or could have been solved in that time.
    ended : bool
        Whether nothing better is left to be found by going on.

    Notes
    -----
    Bands do not depend on each other once the parts are chosen, so their best changes are found band by band
    for each choice of parts: the sum is exact. Parts that only need a higher rating change no network; every
    set of them is priced from one solution. Configurations wait in order of a lower bound of their weight, at
    first what their parts weigh, then with what the closed-form match says the bands need at least; the
    search ends when no bound is below the best found. Where no configuration clears everything, only the
    twelve with the best bounds are solved; where the budget ends first, or 150 in turn of a stage leave no less
    over, those reached by then: what remains over need not be the least possible.
    """

    def __init__(
        self,
        amplifier: Amplifier,
        choices: Sequence[Choices],
        groups: Sequence[Sequence[Change]],
        standing: Sequence[Change] = (),
    ) -> None:
        self._amplifier = amplifier
        self._base = grouped(amplifier, applied(amplifier.description, edits_of(standing)), choices)
        with_tube = amplifier.description.tube is not None
        self._each, self._beside = (WITH_TUBE, _BESIDE_TUBE) if with_tube else (1, 1)
        options = [[(), *((change,) for change in group)] for group in groups]
        configurations = (
            Configuration(tuple(itertools.chain.from_iterable(chosen)), tuple(standing))
            for chosen in itertools.product(*options)
        )
        self._closed = [
            _Open((0, configuration.weight), number, configuration)
            for number, configuration in enumerate(configurations)
        ]
        heapq.heapify(self._closed)
        self._opened: list[_Open] = []
        self._best: Found | None = None
        self._hopeless = self._in_vain = self._for_opening = 0
        self.tried = self.spent = 0
        self.ended = False

    @property
    def best(self) -> Found | None:
        """The best so far."""
        early = bool(self._closed or self._opened) and not self.ended
        return self._best and replace(self._best, tried=self.tried, networks=self.spent, ended_early=early)

    def advance(self, limit: int, beat: tuple[int, int] | None = None) -> Found | None:
        """Go on until so many networks are solved since the beginning, and return the best so far.

        At least one configuration is solved, unless none can be better than what remains over, and the weight, that
        another search reached and is to be beaten: then there is none.
        """
        self._in_vain = 0
        while not self.ended:
            heads = [heap[0] for heap in (self._closed, self._opened) if heap]
            reached = min((k for k in (self._best and self._best.key[:2], beat) if k), default=None)
            if not heads or (reached and min(heads).bound >= reached):
                self.ended = True
            elif reached and (self.spent > limit or self._in_vain > _MOST_IN_VAIN):
                break
            elif min(heads).groups is None and self._for_opening <= limit * _FOR_OPENING:
                self._open(heapq.heappop(self._closed))
            elif not self._opened or (self._opened[0].bound[0] and self._hopeless >= _MOST_HOPELESS):
                # Nothing left to be solved clears everything.
                self.ended = not self._closed
                if self.ended or (reached and self._for_opening > limit * _FOR_OPENING):
                    break
                self._open(heapq.heappop(self._closed))
            else:
                self._price(heapq.heappop(self._opened), beat)
        return self.best

    def _open(self, entry: _Open) -> None:
        """Match everything with the parts of a configuration, and let it wait with what it needs at least."""
        parts = entry.configuration
        description = applied(self._amplifier.description, edits_of(parts.changes))
        try:
            groups = [
                BandNetworks(self._amplifier, description, known.choices, known) for known in self._base
            ]
        except DescriptionError:
            return  # the stage cannot run so
        feasible = [group.feasible() for group in groups]
        bounds = [least_weights(group, fits) for group, fits in zip(groups, feasible, strict=True)]
        hopeless, weight = (sum(bound[k] for bound in bounds) for k in range(2))
        taken = self._beside * (_OPENING + sum(len(group.assembly) for group in groups) // _MATCH_SHARE)
        self.spent += taken
        self._for_opening += taken
        bound = hopeless, parts.weight + weight
        heapq.heappush(self._opened, _Open(bound, entry.number, parts, groups, feasible))

    def _price(self, entry: _Open, beat: tuple[int, int] | None) -> None:
        """Solve what can be the best of a configuration."""
        self._hopeless += bool(entry.bound[0])
        each = zip(entry.groups or [], entry.feasible, strict=True)
        pricings = [price(group, feasible) for group, feasible in each]
        self.tried += sum(len(pricing.picks) for pricing in pricings)
        self.spent += self._beside * _PRICING + self._each * sum(
            pricing.outcome.networks for pricing in pricings
        )
        found = _best_of(entry.configuration, pricings)
        best = self._best
        self._in_vain = self._in_vain + 1 if best is not None and 0 < best.key.over <= found.key.over else 0
        if (best is None or found.key < best.key) and (beat is None or found.key[:2] < beat):
            self._best = found


def _best_of(configuration: Configuration, pricings: Sequence[Pricing]) -> Found:
    """Choose the parts with higher ratings, and with them what is done to each band."""
    useful = sorted({part for pricing in pricings for part in pricing.part})
    open_anyway = [part in configuration.parts for part in useful]
    optional = [place for place, anyway in enumerate(open_anyway) if not anyway]
    sets = np.array(list(itertools.product((False, True), repeat=len(optional))), dtype=np.bool_)
    replaced = np.tile(np.array(open_anyway, dtype=np.bool_), (len(sets), 1))
    replaced[:, optional] = sets
    totals = [pricing.cheapest(useful, replaced) for pricing in pricings]
    over, weight = (np.sum([total[k] for total in totals], axis=0) for k in range(2))
    weight = weight + PART * sets.sum(axis=1)
    order = np.lexsort((sets.sum(axis=1), weight, over))
    ties = order[(over[order] == over[order[0]]) & (weight[order] == weight[order[0]])][:_MOST_TIES]
    best: tuple[Key, frozenset[str], list[IndexArray]] | None = None
    for row in ties:
        parts = frozenset(part for part, there in zip(useful, replaced[row], strict=True) if there)
        chosen = [pricing.best(parts) for pricing in pricings]
        slips = {
            slip for p, (_, place) in zip(pricings, chosen, strict=True) for slip in p.slips(place, parts)
        }
        key = Key(
            int(over[row]),
            configuration.weight + int(weight[row]) + PART * len(slips),
            sum(key.close for key, _ in chosen),
            sum(key.off_target for key, _ in chosen),
        )
        if best is None or key < best[0]:
            best = key, parts, [place for _, place in chosen]
    assert best is not None  # there is at least one set
    changes = [
        change
        for pricing, places in zip(pricings, best[2], strict=True)
        for place in places
        for change in pricing.networks.changes(pricing.picks, int(place))
    ]
    return Found(configuration, tuple(changes), best[1] | configuration.parts, best[0])
