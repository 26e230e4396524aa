"""From the search's choice to definite parts: no wider range, no higher rating than is needed."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from netsim.advice.band_networks import BandNetworks, as_they_stand
from netsim.advice.change import (
    Change,
    applied,
    edits_of,
    keeps_the_rules,
    together,
    with_contacts,
    without_contacts,
)
from netsim.advice.fix.search import Found
from netsim.advice.outcome import CLOSE, OVER, Outcome
from netsim.advice.part_changes import capacitor, higher_ratings
from netsim.advice.preferred_values import MINIMA, rating_for
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier

_WANTED = tuple(minimum * 1.25 for minimum in MINIMA)
"""Settings that capacitors with the usual minima keep clear of [F]."""

_SIDE = {"tune_capacitor": "tune", "load_capacitor": "load"}


def definite(amplifier: Amplifier, found: Found, lower: float = 1.0) -> tuple[Change, ...]:
    """Return changes with definite values for what a search chose, parts first, then bands in file order; no ratings.

    Replaced capacitors, as wide there as they can be had, reach lower than the settings of the matched antenna by a
    factor: room for other antennas. Their least capacitance is the highest usual one that the settings keep clear of;
    the largest stays unless a setting needs more.
    """
    description = amplifier.description
    bands = with_contacts(description, found.band_changes)
    wide = applied(description, edits_of((*found.configuration.changes, *bands)))
    needed = BandNetworks.standing(amplifier, wide).outcome().needed
    parts = [change for change in found.configuration.changes if change.part not in _SIDE]
    ranged = {change.part for change in found.configuration.changes}
    for part, side in _SIDE.items():
        # What is replaced for its rating alone may as well reach further.
        if part in ranged or (lower < 1.0 and part in found.replaced):
            low, high = float(np.nanmin(needed[side])), float(np.nanmax(needed[side]))
            wanted = [low * lower, *(value for value in _WANTED if value > low * lower)]
            # Where none is sold that spans so much, the one that goes lowest.
            tried = (capacitor(description, side, value, high, clear=False) for value in wanted)
            parts += [change for change in tried if change is not None][:1]
    return (*parts, *bands)


@dataclass(frozen=True)
class Rated:
    """Changes of a network, without ratings and with those it asks for, and how many checks stay over with them."""

    network: tuple[Change, ...]
    changes: tuple[Change, ...]
    over: int

    @property
    def weight(self) -> int:
        """The sum of all weights."""
        return sum(change.weight for change in self.changes)


def rated(
    amplifier: Amplifier,
    changes: Sequence[Change],
    replaced: Collection[str],
    swr: float | None = None,
    *,
    whole: bool = True,
) -> Rated:
    """Return changes with the ratings that the network they make asks for; replaced parts get clear of theirs.

    Whether by every check, or on the matched antenna alone.

    Notes
    -----
    A rating is the next preferred number that leaves it used less than what counts as close. It follows from
    what the part carries, on the matched antenna, while tuning and on any other antenna, which no rating changes.
    """
    description = amplifier.description
    networks = BandNetworks.standing(amplifier, applied(description, edits_of(changes)))
    carried = networks.whole(as_they_stand(len(networks.choices)), swr) if whole else networks.outcome()
    higher = raised(description, carried, replaced)
    ratings = {
        (change.part, str(edit.path[-1])): edit.value
        for change in higher
        for edit in change.edits
        if edit.value is not None
    }
    over = int(carried.rated(ratings).count(OVER).sum())
    parts, bands = ([c for c in changes if (c.band is None) is shared] for shared in (True, False))
    return Rated(tuple(changes), (*together(parts, higher), *bands), over)


def without_needless(
    amplifier: Amplifier, found: Rated, replaced: Collection[str], swr: float | None = None
) -> Rated:
    """Return changes less those that ratings, which are raised in any case, make needless.

    Notes
    -----
    One after the other is left out, the heaviest first, where that leaves no more over and less weight in all; what
    could not be is tried again once others are. What leaves more over on the matched antenna is not solved on others.
    """
    description = amplifier.description
    kept = [without_contacts(change) for change in found.network]
    waiting = kept
    while waiting:
        change = max(waiting, key=lambda one: one.weight)
        waiting = [other for other in waiting if other is not change]
        fewer = with_contacts(description, [other for other in kept if other is not change])
        if not keeps_the_rules(applied(description, edits_of(fewer))):
            continue
        if rated(amplifier, fewer, replaced, swr, whole=False).over > found.over:
            continue
        then = rated(amplifier, fewer, replaced, swr)
        if then.over <= found.over and then.weight < found.weight:
            found = then
            waiting = kept = [other for other in kept if other is not change]
    return found


def raised(description: Description, outcome: Outcome, replaced: Collection[str]) -> Sequence[Change]:
    """Return higher ratings for what is over them in an outcome of the amplifier as it would be, if they can be had.

    A part that has to be replaced for one rating gets all of them clear.
    """
    state = outcome.state.max(axis=(1, 2))
    over = {
        check.part
        for place, check in enumerate(outcome.checks)
        if outcome.rating[place] is not None and state[place] == OVER
    }
    asked: dict[str, dict[str, float]] = {}
    for place, check in enumerate(outcome.checks):
        rating = outcome.rating[place]
        if rating is None or state[place] < CLOSE or check.part not in {*over, *replaced}:
            continue
        limit = float(np.nanmax(outcome.limit[place]))
        wanted = rating_for(float(outcome.strain[place].max()) * limit, float(outcome.close[place]))
        if getattr(description.network, check.part, None) is not None:
            ratings = asked.setdefault(check.part, {})
            ratings[rating] = max(ratings.get(rating, 0.0), wanted)
    return [higher_ratings(description, part, ratings) for part, ratings in asked.items()]
