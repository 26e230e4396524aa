"""How far verdict values spread over the amplifiers that the limits of what is known admit."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.verdict.judged import Check, number
from netsim.verdict.result import SURE, Known, Settling

LEVELS = (0.025, 0.975)
"""Between these shares of the samples lies what is told of a value."""

Place = tuple[Check, int, int]
"""Which finding: its check, its band and its operating point, both by index."""


@dataclass(frozen=True)
class Spread:
    """One finding over the amplifiers sampled.

    Attributes
    ----------
    low, high : float or None
        The 2.5 % and the 97.5 % point of the used fraction; None where there is none.
    share_over : float
        Share of the amplifiers in which it is over.
    settled_by : tuple of Settling
        What would narrow it most.
    used : ndarray or None
        Used fraction of each, infinite where there is none, shape ``(samples,)``; kept where it is unsure alone.
    """

    low: float | None
    high: float | None
    share_over: float
    settled_by: tuple[Settling, ...] = ()
    used: FloatArray | None = None

    @property
    def unsure(self) -> bool:
        """Whether the amplifiers disagree."""
        return SURE < self.share_over < 1 - SURE


@dataclass(frozen=True)
class Spreads:
    """What sampling found, of all findings and of where the power goes.

    Attributes
    ----------
    known : Known
        What was sampled.
    findings : mapping of Place to Spread
    losses : mapping of str to ndarray
        Where the power goes, as `losses` gives it [W], shape ``(networks, samples)``; of the first amplifiers
        drawn where the networks are very many.
    """

    known: Known
    findings: Mapping[Place, Spread] = field(default_factory=dict)
    losses: Mapping[str, FloatArray] = field(default_factory=dict)


def spread_of(used: FloatArray, over: BoolArray, settled_by: tuple[Settling, ...] = ()) -> Spread:
    """Return the spread of a finding's used fractions, infinite where there is none, both of shape ``(samples,)``."""
    low, high = (number(quantile(used, level)) for level in LEVELS)
    found = Spread(low, high, float(over.mean()), settled_by)
    return replace(found, used=used) if found.unsure else found


def quantile(values: FloatArray, level: float) -> float:
    """Return the value below which a share of samples lies: one of them (JCGM 101:2008, 7.7), infinite ones last."""
    return float(np.quantile(values, level, method="inverted_cdf"))
