"""A ladder as a two-port between plate and antenna terminal, the antenna itself taken away."""

from dataclasses import replace

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray, Resistor
from netsim.circuit.ladder import Ladder
from netsim.solvers import batch

ANTENNA = "antenna"


def scattering(ladder: Ladder, orders: FloatArray, reference: float) -> ComplexArray:
    """Give the scattering matrix of every network at every order.

    Parameters
    ----------
    ladder : Ladder
        Ending in its antenna, of ``networks`` networks.
    orders : ndarray
        Multiples of each working frequency, shape ``(orders,)``; need not be whole numbers.
    reference : float
        Real reference resistance of both ports [ohm].

    Returns
    -------
    ndarray
        Shape ``(networks, orders, 2, 2)``; port 1 is the plate, port 2 the antenna terminal.

    Notes
    -----
    With the antenna off, 1 A into the plate gives z11 and z21 as voltages at both ends; z12 = z21, the
    ladder being reciprocal. With the antenna R on, the current into it is T = z21 / (z22 + R), hence
    z22 = z21 / T - R. Then S = (Z - r)(Z + r)^-1 for reference r. Derived.
    """
    *_, last = ladder.branches
    if last.name != ANTENNA:
        raise ValueError("the ladder does not end in its antenna")
    # Any resistor will do in its place: none is left in the result.
    antenna = last.element if isinstance(last.element, Resistor) else Resistor(np.full(len(ladder), 50.0))
    ladder = replace(ladder, branches=(*ladder.branches[:-1], replace(last, element=antenna)))
    away = replace(last, element=Resistor(np.full(len(ladder), np.inf)))
    unloaded = batch.solve(replace(ladder, branches=(*ladder.branches[:-1], away)), orders)
    transfer = batch.solve(ladder, orders).branch_current[ANTENNA]
    z11, z21 = unloaded.plate_impedance, unloaded.node_voltage[ladder.nodes[-1]]
    z22 = z21 / transfer - np.asarray(antenna.resistance)[..., np.newaxis]
    impedance = np.stack([np.stack([z11, z21], -1), np.stack([z21, z22], -1)], -2)
    match = reference * np.eye(2)
    # (Z - r)(Z + r)^-1 by solving from the right; both matrices are symmetric and commute.
    return np.asarray(np.linalg.solve(impedance + match, impedance - match))
