"""How far two solvers are apart."""

from collections.abc import Mapping

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.solvers.solution import Solution

FLOOR = 1e-9
"""What is smaller than this share of the largest of its kind is compared against that share."""

TOLERANCE = 1e-6
"""Above this the solvers disagree, and neither is believed. Rounding alone stays below 1e-9."""


def worst_relative(one: Solution, other: Solution) -> FloatArray:
    """Give the largest relative difference of each network, over all voltages and currents.

    Parameters
    ----------
    one, other : Solution
        Of the same ladder at the same orders.

    Returns
    -------
    ndarray
        Shape ``(networks,)``.

    Notes
    -----
    ``|a - b| / max(|a|, |b|, 1e-9 m)`` with m the largest of its kind (voltage or current) at that
    order.
    """
    return np.maximum(
        worst_voltage(one, other),
        _difference(one.branch_current, other.branch_current),
    )


def worst_voltage(one: Solution, other: Solution) -> FloatArray:
    """Give the same over the voltages alone.

    This is for a network at an exact resonance: the currents that cancel there are nothing but rounding,
    and have no relative difference worth the name.
    """
    return _difference(one.node_voltage, other.node_voltage)


def _difference(one: Mapping[str, ComplexArray], other: Mapping[str, ComplexArray]) -> FloatArray:
    if one.keys() != other.keys():
        raise ValueError("the solutions are not of the same ladder")
    a, b = (np.stack([values[name] for name in sorted(values)]) for values in (one, other))
    size = np.maximum(np.abs(a), np.abs(b))
    scale = np.maximum(size, FLOOR * size.max(axis=0))
    return np.asarray((np.abs(a - b) / scale).max(axis=(0, 2)))
