"""How far verdict values spread over the amplifiers that the limits of what is known admit."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.verdict.judged import Check, number
from netsim.verdict.result import Known, Settling

LEVELS = (0.025, 0.975)
"""Between these shares of the samples lies what is told of a value."""

Place = tuple[Check, int, int]
"""Which finding: its check, its band and its operating point, both by index."""


@dataclass(frozen=True)
class Spread:
    """One finding over the amplifiers sampled.

    Attributes
    ----------
    used : ndarray
        Used fraction of each, infinite where there is none, shape ``(samples,)``.
    over : ndarray of bool
        Whether it is over.
    settled_by : tuple of Settling
        What would narrow it most.
    """

    used: FloatArray
    over: BoolArray
    settled_by: tuple[Settling, ...] = ()

    @property
    def low(self) -> float | None:
        """The 2.5 % point of the used fraction; None where there is none."""
        return number(quantile(self.used, LEVELS[0]))

    @property
    def high(self) -> float | None:
        """The 97.5 % point of the used fraction; None where there is none."""
        return number(quantile(self.used, LEVELS[1]))

    @property
    def share_over(self) -> float:
        """Share of the amplifiers in which it is over."""
        return float(self.over.mean())

    @property
    def as_told(self) -> dict[str, Any]:
        """What a finding tells of it, by its keys."""
        return {
            "used_low": self.low,
            "used_high": self.high,
            "share_over": self.share_over,
            "settled_by": self.settled_by,
        }


@dataclass(frozen=True)
class Spreads:
    """What sampling found, of all findings and of where the power goes.

    Attributes
    ----------
    known : Known
        What was sampled.
    findings : mapping of Place to Spread
    losses : mapping of str to ndarray
        Where the power goes, as `losses` gives it [W], shape ``(networks, samples)``.
    """

    known: Known
    findings: Mapping[Place, Spread] = field(default_factory=dict)
    losses: Mapping[str, FloatArray] = field(default_factory=dict)


def quantile(values: FloatArray, level: float) -> float:
    """Return the value below which a share of samples lies: one of them (JCGM 101:2008, 7.7), infinite ones last."""
    return float(np.quantile(values, level, method="inverted_cdf"))
