"""What the amplifiers sampled tell of every finding, and which measurement would settle most."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from netsim.analysis.uncertainty.sampling import Draws, Sampled
from netsim.circuit.elements import FloatArray, IndexArray
from netsim.description.inputs import Input
from netsim.verdict.result import SURE, Known, KnownInput, Settling, WorthMeasuring
from netsim.verdict.spread import Place, Spread, Spreads, spread_of

_MOST = 3
"""Inputs named for each finding."""

_NOTHING = 0.005
"""Share of a variance below which an input is not worth naming."""


@dataclass(frozen=True)
class Summed:
    """What is kept of amplifiers sampled.

    Attributes
    ----------
    spreads : mapping of Place to Spread
    shares : mapping of Place to ndarray
        What knowing each input would remove of the finding's variance, shape ``(d,)``.
    rows, losses
        As in `Sampled`.
    """

    spreads: Mapping[Place, Spread]
    shares: Mapping[Place, FloatArray]
    rows: IndexArray
    losses: Mapping[str, FloatArray]


def summed(sampled: Sampled) -> Summed:
    """Return the spread of every finding, and what would settle it.

    Notes
    -----
    Shares are of the variance of the used fraction u; where some amplifiers have none, of ``u / (1 + u)``, which is
    1 there.
    """
    shares = _shares(sampled)
    spreads = {
        place: spread_of(used, sampled.over[place], _settling(sampled.draws.inputs, shares[place]))
        for place, used in sampled.used.items()
    }
    return Summed(spreads, shares, sampled.rows, sampled.losses)


def summary(draws: Draws, networks: int, parts: Sequence[Summed]) -> Spreads:
    """Return the spread of every finding, what would settle it, and what would settle most of them.

    Parameters
    ----------
    draws : Draws
        What was sampled.
    networks : int
        How many there are.
    parts : sequence of Summed
        Of some findings each.
    """
    spreads = {place: spread for part in parts for place, spread in part.spreads.items()}
    shares = {place: share for part in parts for place, share in part.shares.items()}
    losses: dict[str, FloatArray] = {}
    for part in parts:
        for name, watts in part.losses.items():
            losses.setdefault(name, np.zeros((networks, watts.shape[1])))[part.rows] = watts
    return Spreads(_known(draws, spreads, shares), spreads, losses)


def _known(draws: Draws, spreads: Mapping[Place, Spread], shares: Mapping[Place, FloatArray]) -> Known:
    inputs = tuple(
        KnownInput(entry.key, entry.line, entry.nominal, entry.low, entry.high, entry.unit, entry.source)
        for entry in draws.inputs
    )
    return Known(len(draws), draws.seed, inputs, _measure(draws.inputs, spreads, shares))


def _shares(sampled: Sampled) -> dict[Place, FloatArray]:
    if not sampled.used:
        return {}
    # Imported here: a file without limits does without it.
    from netsim.analysis.uncertainty.shares import first_order_shares

    used = np.stack(list(sampled.used.values()))
    endless = ~np.isfinite(used).all(axis=1)
    with np.errstate(invalid="ignore"):
        bounded = np.where(np.isfinite(used[endless]), used[endless] / (1 + used[endless]), 1.0)
    used[endless] = bounded
    places = sampled.draws.places
    if not sampled.draws.even:  # by rank, which is even whatever was drawn
        places = (np.argsort(np.argsort(places, axis=0), axis=0) + 0.5) / len(places)
    return dict(zip(sampled.used, first_order_shares(places, used), strict=True))


def _settling(inputs: Sequence[Input], shares: FloatArray) -> tuple[Settling, ...]:
    largest = np.argsort(-shares, kind="stable")[:_MOST]
    return tuple(
        Settling(inputs[n].key, inputs[n].line, float(shares[n])) for n in largest if shares[n] >= _NOTHING
    )


def _measure(
    inputs: Sequence[Input], spreads: Mapping[Place, Spread], shares: Mapping[Place, FloatArray]
) -> tuple[WorthMeasuring, ...]:
    """Rank the inputs by how many unsure findings depend on each more than on any other."""
    counted: Counter[int] = Counter()
    total: dict[int, float] = defaultdict(float)
    for place, spread in spreads.items():
        if not SURE < spread.share_over < 1 - SURE:
            continue
        first = int(np.argmax(shares[place]))
        counted[first] += 1
        total[first] += float(shares[place][first])
    ranked = sorted(counted, key=lambda n: (-counted[n], -total[n], n))
    return tuple(
        WorthMeasuring(inputs[n].key, inputs[n].line, counted[n], total[n] / counted[n]) for n in ranked
    )
