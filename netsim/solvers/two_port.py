"""Every branch a two-port of scikit-rf, cascaded; voltages and currents read from chain matrices."""

import numpy as np

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    ComplexArray,
    DampedInductor,
    Element,
    FloatArray,
    Inductor,
    Resistor,
    Termination,
)
from netsim.circuit.ladder import Ladder
from netsim.solvers.solution import Solution

REFERENCE = 50.0
"""Real reference resistance of the scattering matrices in between [ohm]; no result depends on it."""


def solve(ladder: Ladder, orders: FloatArray) -> Solution:
    """Solve every network of a ladder at every order.

    Parameters
    ----------
    ladder : Ladder
        Of ``networks`` networks.
    orders : ndarray
        Multiples of each working frequency, shape ``(orders,)``.

    Returns
    -------
    Solution
        Arrays of shape ``(networks, orders)``.

    Notes
    -----
    The antenna is the last shunt branch, behind it the cascade is open. With A and C the first column of
    the chain matrix of what follows a place, voltage and current there are ``A V`` and ``C V`` for the
    voltage V at the open end. Networks and orders share scikit-rf's frequency axis, which here only
    numbers the points: the matrices are made from the element values alone.
    """
    import skrf

    shape = (len(ladder), len(orders))
    points = shape[0] * shape[1]
    omega = 2 * np.pi * ladder.frequency[:, np.newaxis] * orders
    axis = skrf.Frequency.from_f(np.arange(1, points + 1), unit="Hz")
    tail = None
    # Voltage and current entering each branch from the plate side, per volt at the open end.
    entering: list[tuple[Branch, ComplexArray, ComplexArray, ComplexArray]] = []
    for branch in reversed(ladder.branches):
        immittance = np.broadcast_to(_immittance(branch, omega, orders), shape).reshape(points)
        chain = np.zeros((points, 2, 2), dtype=np.complex128)
        chain[:, 0, 0] = chain[:, 1, 1] = 1
        chain[:, 1, 0] = immittance if branch.to is None else 0
        chain[:, 0, 1] = 0 if branch.to is None else immittance
        two_port = skrf.Network(frequency=axis, s=skrf.network.a2s(chain, REFERENCE), z0=REFERENCE)
        tail = two_port if tail is None else two_port**tail
        matrix = tail.a
        voltage, current = (matrix[:, row, 0].reshape(shape) for row in (0, 1))
        entering.append((branch, voltage, current, immittance.reshape(shape)))

    plate_current = entering[-1][2]
    voltages: dict[str, ComplexArray] = {}
    currents: dict[str, ComplexArray] = {}
    for branch, voltage, current, immittance in entering:
        voltages[branch.node] = voltage / plate_current
        flow = current if branch.to is not None else voltage * immittance
        currents[branch.name] = flow / plate_current
    return Solution(orders, voltages, currents)


def _immittance(branch: Branch, omega: FloatArray, orders: FloatArray) -> ComplexArray:
    """Impedance of a series branch, admittance of a shunt branch."""
    impedance = _impedance(branch.element, omega, orders)
    if branch.to is not None:
        return impedance
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(np.isinf(impedance), 0, 1 / impedance)


def _impedance(element: Element, omega: FloatArray, orders: FloatArray) -> ComplexArray:
    """Impedance [ohm]; infinite for what is open."""
    match element:
        case Capacitor(capacitance=capacitance, resistance=resistance):
            with np.errstate(divide="ignore"):
                return _complex(resistance[..., np.newaxis], -1 / (omega * capacitance[..., np.newaxis]))
        case Inductor(inductance=inductance):
            return _complex(element.resistance_at(orders), omega * inductance[..., np.newaxis])
        case DampedInductor(inductance=inductance, resistance=resistance):
            reactance = omega * inductance[..., np.newaxis]
            damping = resistance[..., np.newaxis]
            # Rationalised by hand: R X^2 + j R^2 X over R^2 + X^2.
            square = damping**2 + reactance**2
            return _complex(damping * reactance**2 / square, damping**2 * reactance / square)
        case Resistor(resistance=resistance):
            return _complex(resistance[..., np.newaxis], np.zeros_like(omega))
        case Termination():
            return element.impedance_at(orders)


def _complex(real: FloatArray, imaginary: FloatArray) -> ComplexArray:
    """Join the parts without multiplying, so that an infinity does not become a NaN."""
    real, imaginary = np.broadcast_arrays(real, imaginary)
    joined = np.empty(real.shape, dtype=np.complex128)
    joined.real, joined.imag = real, imaginary
    return joined
