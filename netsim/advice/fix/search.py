"""The smallest set of changes that clears everything over."""

import heapq
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from netsim.advice.fix.change import WEIGHTS, Edit, Move, applied
from netsim.advice.fix.combinations import Pricing, Selection, least_weights, price
from netsim.advice.fix.networks import Choices, Trial
from netsim.advice.fix.part_changes import Replacement
from netsim.circuit.tuning import BoolArray
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError

Key = tuple[int, int, int, float]
"""What remains over, the weight of all changes, what remains close, distance from the target loaded Q."""


_MOST_HOPELESS = 12
"""Configurations looked at that cannot clear everything; beyond, the best of them is no more certain."""


@dataclass(frozen=True)
class Configuration:
    """Parts of the amplifier, apart from what is done band by band.

    Attributes
    ----------
    replacements : tuple of Replacement
        Moves that change the network.
    standing : tuple of Move
        Moves that are made in any case.
    """

    replacements: tuple[Replacement, ...]
    standing: tuple[Move, ...] = ()

    @property
    def moves(self) -> tuple[Move, ...]:
        """All moves."""
        return (*self.standing, *(replacement.move for replacement in self.replacements))

    @property
    def weight(self) -> int:
        """Sum of the moves' weights."""
        return sum(move.weight for move in self.moves)

    @property
    def parts(self) -> frozenset[str]:
        """Names of the parts that are replaced."""
        named = {replacement.part for replacement in self.replacements} - {""}
        return frozenset(named | {move.place.removeprefix("network.") for move in self.standing})


@dataclass(frozen=True)
class Solution:
    """The best that a search found.

    Attributes
    ----------
    configuration : Configuration
        Parts that change the network.
    trial : Trial
        Of that configuration.
    pricing, selection : Pricing, Selection
        What is done to each band, and which parts get higher ratings.
    key : tuple
        As in `Key`.
    tried : int
        How many combinations were solved.
    """

    configuration: Configuration
    trial: Trial
    pricing: Pricing
    selection: Selection
    key: Key
    tried: int

    def band_moves(self) -> Iterator[Move]:
        """Give what is done to the bands."""
        picks = self.pricing.picks
        for place in self.selection.chosen:
            choice = self.trial.choices[picks.band[place]]
            yield from choice.variants[picks.variant[place]].moves
            sides = choice.tune.moves[picks.tune[place]], choice.load.moves[picks.load[place]]
            yield from (move for move in sides if move is not None)


@dataclass(order=True)
class _Open:
    """A configuration with a bound on its key, best first."""

    bound: tuple[int, int]
    number: int
    configuration: Configuration = field(compare=False)
    trial: Trial | None = field(compare=False, default=None)
    feasible: list[BoolArray] = field(compare=False, default_factory=list)


def search(
    amplifier: Amplifier,
    choices: Sequence[Choices],
    groups: Sequence[Sequence[Replacement]],
    standing: Sequence[Move] = (),
    beat: tuple[int, int] | None = None,
) -> Solution | None:
    """Find the set of moves with least over, then least weight, then least close.

    Parameters
    ----------
    amplifier : Amplifier
        The amplifier.
    choices : sequence of Choices
        What can be done to each band.
    groups : sequence of sequences of Replacement
        Of each group one move is made, or none.
    standing : sequence of Move
        Made in any case.
    beat : tuple of int, optional
        What remains over and the weight that another search reached.

    Returns
    -------
    Solution or None
        The best of all combinations; None if none is better than what is to be beaten.

    Notes
    -----
    Bands do not depend on each other once the parts are chosen, so their best moves are found band by band
    for each choice of parts: the sum is exact. Parts that only need a higher rating change no network; every
    set of them is priced from one solution. Configurations wait in order of a lower bound of their weight, at
    first what their parts weigh, then with what the closed-form match says the bands need at least; the
    search ends when no bound is below the best found. Where no configuration clears everything, only the
    twelve with the best bounds are solved, so that what remains over need not be the least possible.
    """
    base = Trial(amplifier, applied(amplifier.description, _edits(standing)), choices)
    numbers = itertools.count()
    waiting = [
        _Open((0, configuration.weight), next(numbers), configuration)
        for configuration in _configurations(groups, tuple(standing))
    ]
    heapq.heapify(waiting)
    best: Solution | None = None
    tried = hopeless_tried = 0
    while waiting:
        entry = heapq.heappop(waiting)
        reached = best.key[:2] if best is not None else beat
        if reached is not None and entry.bound >= reached:
            break
        if entry.trial is None:
            trial = _trial(amplifier, entry.configuration, choices, base)
            if trial is not None:
                feasible = trial.feasible()
                hopeless, weight = least_weights(trial, feasible)
                bound = (hopeless, entry.configuration.weight + weight)
                opened = _Open(bound, next(numbers), entry.configuration, trial, feasible)
                heapq.heappush(waiting, opened)
            continue
        if entry.bound[0]:
            hopeless_tried += 1
            if hopeless_tried > _MOST_HOPELESS and best is not None:
                break  # what remains in the queue cannot clear everything either
        pricing = price(entry.trial, entry.feasible)
        tried += len(pricing.picks)
        for parts in pricing.sets(entry.configuration.parts):
            extra = WEIGHTS["part"] * len(parts - entry.configuration.parts)
            selection = pricing.best(parts)
            over, weight, close, off = selection.key
            key = (over, entry.configuration.weight + extra + weight, close, off)
            if (best is None or key < best.key) and (beat is None or key[:2] < beat):
                best = Solution(entry.configuration, entry.trial, pricing, selection, key, tried)
    return best


def _configurations(
    groups: Sequence[Sequence[Replacement]], standing: tuple[Move, ...]
) -> Iterator[Configuration]:
    options = [[(), *((replacement,) for replacement in group)] for group in groups]
    for chosen in itertools.product(*options):
        yield Configuration(tuple(itertools.chain.from_iterable(chosen)), standing)


def _trial(
    amplifier: Amplifier, configuration: Configuration, choices: Sequence[Choices], base: Trial
) -> Trial | None:
    """Set the parts up; None if the stage cannot run so."""
    description: Description = applied(amplifier.description, _edits(configuration.moves))
    try:
        return Trial(amplifier, description, choices, base)
    except DescriptionError:
        return None


def _edits(moves: Sequence[Move]) -> list[Edit]:
    return [edit for move in moves for edit in move.edits]
