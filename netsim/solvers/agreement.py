"""How far two solvers are apart."""

from collections.abc import Mapping

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray

from .solution import Solution

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
    if one.node_voltage.keys() != other.node_voltage.keys() or (
        one.branch_current.keys() != other.branch_current.keys()
    ):
        raise ValueError("the solutions are not of the same ladder")
    kinds = [(one.node_voltage, other.node_voltage), (one.branch_current, other.branch_current)]
    worst = [_difference(_stack(a), _stack(b)) for a, b in kinds]
    return np.maximum(*worst)


def _stack(values: Mapping[str, ComplexArray]) -> ComplexArray:
    return np.stack([values[name] for name in sorted(values)])


def _difference(a: ComplexArray, b: ComplexArray) -> FloatArray:
    size = np.maximum(np.abs(a), np.abs(b))
    scale = np.maximum(size, FLOOR * size.max(axis=0))
    return np.asarray((np.abs(a - b) / scale).max(axis=(0, 2)))
