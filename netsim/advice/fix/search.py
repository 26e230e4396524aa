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
from netsim.advice.outcome import IntArray
from netsim.circuit.tuning import BoolArray
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError

MOST_NETWORKS = 140_000
"""Networks that a search solves, or does what takes as long, before it ends with the best so far."""

WITH_TUBE = 10
"""How many networks one counts whose tube settles with it, as it takes so much longer."""

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
    """Parts of the amplifier, apart from what is done band by band.

    Attributes
    ----------
    replacements : tuple of Change
        What changes the network.
    standing : tuple of Change
        What is done in any case.
    """

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
    configuration : Configuration
        Parts that change the network.
    band_changes : tuple of Change
        What is done to the bands.
    replaced : frozenset of str
        Parts that get higher ratings.
    key : Key
        How good it is.
    tried : int
        How many combinations were solved.
    networks : int
        How many networks that took, or could have been solved in that time.
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


@dataclass(order=True)
class _Open:
    """A configuration with a bound on its key, best first."""

    bound: tuple[int, int]
    number: int
    configuration: Configuration = field(compare=False)
    groups: "list[BandNetworks] | None" = field(compare=False, default=None)
    feasible: list[list[BoolArray]] = field(compare=False, default_factory=list)


def search(
    amplifier: Amplifier,
    choices: Sequence[Choices],
    groups: Sequence[Sequence[Change]],
    standing: Sequence[Change] = (),
    beat: tuple[int, int] | None = None,
    budget: int = MOST_NETWORKS,
) -> Found | None:
    """Find the set of changes with least over, then least weight, then least close.

    Parameters
    ----------
    amplifier : Amplifier
        The amplifier.
    choices : sequence of Choices
        What can be done to each band.
    groups : sequence of sequences of Change
        Of each group one change is made, or none.
    standing : sequence of Change
        Made in any case.
    beat : tuple of int, optional
        What remains over and the weight that another search reached.
    budget : int
        Networks that may be solved.

    Returns
    -------
    Found or None
        The best of all combinations; None if none is better than what is to be beaten.

    Notes
    -----
    Bands do not depend on each other once the parts are chosen, so their best changes are found band by band
    for each choice of parts: the sum is exact. Parts that only need a higher rating change no network; every
    set of them is priced from one solution. Configurations wait in order of a lower bound of their weight, at
    first what their parts weigh, then with what the closed-form match says the bands need at least; the
    search ends when no bound is below the best found. Where no configuration clears everything, only the
    twelve with the best bounds are solved; where the budget ends first, or 150 in turn leave no less over,
    those reached by then: what remains over need not be the least possible.
    """
    run = _Search(amplifier, grouped(amplifier, applied(amplifier.description, edits_of(standing)), choices))
    numbers = itertools.count()
    waiting = [
        _Open((0, configuration.weight), next(numbers), configuration)
        for configuration in _configurations(groups, tuple(standing))
    ]
    heapq.heapify(waiting)
    best: Found | None = None
    hopeless = in_vain = 0
    early = False
    while waiting:
        entry = heapq.heappop(waiting)
        reached = best.key[:2] if best is not None else beat
        if reached is not None and entry.bound >= reached:
            break
        early = reached is not None and (run.spent > budget or in_vain > _MOST_IN_VAIN)
        hopeless += bool(entry.groups and entry.bound[0])
        # What remains in the queue behind hopeless ones cannot clear everything either.
        if early or (hopeless > _MOST_HOPELESS and best is not None):
            break
        if entry.groups is None:
            if run.spent <= budget * _FOR_OPENING:  # beyond, the best of those that are open are solved
                run.open(entry, waiting)
            continue
        found = run.price(entry)
        in_vain = in_vain + 1 if best is not None and 0 < best.key.over <= found.key.over else 0
        if (best is None or found.key < best.key) and (beat is None or found.key[:2] < beat):
            best = found
    early = early or run.spent > budget * _FOR_OPENING
    return best and replace(best, tried=run.tried, networks=run.spent, ended_early=early)


class _Search:
    """What a search has looked at, and what that took."""

    def __init__(self, amplifier: Amplifier, base: Sequence[BandNetworks]) -> None:
        self._amplifier, self._base = amplifier, base
        self._each = WITH_TUBE if amplifier.description.tube is not None else 1
        self.tried = self.spent = 0

    def open(self, entry: _Open, waiting: list[_Open]) -> None:
        """Match everything with the parts of a configuration, and let it wait with what it needs at least."""
        opened = _opened(self._amplifier, entry, self._base)
        if opened is not None:
            matched = sum(len(group.assembly) for group in opened.groups or [])
            self.spent += _OPENING + matched // _MATCH_SHARE
            heapq.heappush(waiting, opened)

    def price(self, entry: _Open) -> Found:
        """Solve what can be the best of a configuration."""
        each = zip(entry.groups or [], entry.feasible, strict=True)
        pricings = [price(group, feasible) for group, feasible in each]
        self.tried += sum(len(pricing.picks) for pricing in pricings)
        self.spent += _PRICING + self._each * sum(pricing.outcome.networks for pricing in pricings)
        return _best_of(entry.configuration, pricings)


def _opened(amplifier: Amplifier, entry: _Open, base: Sequence[BandNetworks]) -> _Open | None:
    """Set the parts up and bound what they can do; None if the stage cannot run so."""
    description = applied(amplifier.description, edits_of(entry.configuration.changes))
    try:
        groups = [BandNetworks(amplifier, description, known.choices, known) for known in base]
    except DescriptionError:
        return None
    feasible = [group.feasible() for group in groups]
    bounds = [least_weights(group, fits) for group, fits in zip(groups, feasible, strict=True)]
    hopeless, weight = (sum(bound[k] for bound in bounds) for k in range(2))
    bound = (hopeless, entry.configuration.weight + weight)
    return _Open(bound, entry.number, entry.configuration, groups, feasible)


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
    best: tuple[Key, frozenset[str], list[IntArray]] | None = None
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


def _configurations(
    groups: Sequence[Sequence[Change]], standing: tuple[Change, ...]
) -> Iterator[Configuration]:
    options = [[(), *((change,) for change in group)] for group in groups]
    for chosen in itertools.product(*options):
        yield Configuration(tuple(itertools.chain.from_iterable(chosen)), standing)
