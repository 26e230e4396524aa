"""The checks as a search counts them: used fractions over all networks, without what no network decides."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from netsim.analysis.networks import solve_in_numpy as solve
from netsim.circuit.elements import FloatArray
from netsim.verdict.checks import BY_NETWORK, checks
from netsim.verdict.judged import Check, Judged
from netsim.verdict.solved import Solved

__all__ = ["Check", "Column", "score", "solve"]

_NOT_COUNTED = {
    "choke_reactance",
    "antenna_dc",
    "second_match",
    "tube_wall",
}


@dataclass(frozen=True)
class Column:
    """One check over all networks.

    Attributes
    ----------
    used : ndarray
        Strain, shape ``(networks,)``; zero where there is nothing to judge.
    close : float
        Above which it counts as close.
    rating : str or None
        Key of the rating that is the limit, if it is one that another part could have higher.
    limit : float
        In SI.
    """

    used: FloatArray
    close: float
    rating: str | None = None
    limit: float = 1.0


def score(solved: Solved) -> Mapping[Check, Column]:
    """Hold every network against every limit that a change of the network can mend."""
    return {
        check.check: Column(
            np.where(check.applies, check.strain, 0.0), check.close, check.rating, float(check.limit[0])
        )
        for check in checks(solved, BY_NETWORK)
        if isinstance(check, Judged) and check.check.code not in _NOT_COUNTED
    }
