"""Many networks at many frequencies at once, in numpy: from the antenna back to the plate."""

import numpy as np

from netsim.circuit.elements import (
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


def solve(ladder: Ladder, orders: FloatArray) -> Solution:
    """Solve every network of a ladder at every order.

    Parameters
    ----------
    ladder : Ladder
        Of ``networks`` networks.
    orders : ndarray
        Multiples of each working frequency, shape ``(orders,)``; need not be whole numbers.

    Returns
    -------
    Solution
        Arrays of shape ``(networks, orders)``.

    Notes
    -----
    One volt is assumed at the antenna terminal and Kirchhoff's laws are followed back to the plate; at
    the end everything is divided by the plate current found. No matrix is built.
    """
    shape = (len(ladder), len(orders))
    omega = 2 * np.pi * ladder.frequency[:, np.newaxis] * orders
    voltage: ComplexArray = np.ones(shape, dtype=np.complex128)
    through: ComplexArray = np.zeros(shape, dtype=np.complex128)
    voltages = {ladder.nodes[-1]: voltage}
    currents: dict[str, ComplexArray] = {}
    for branch in reversed(ladder.branches):
        if branch.to is None:
            current = voltage * _admittance(branch.element, omega, orders)
            through = through + current
            currents[branch.name] = current
        else:
            voltage = voltage + through * _impedance(branch.element, omega, orders)
            voltages[branch.node] = voltage
            currents[branch.name] = through
    return Solution(
        orders,
        {name: value / through for name, value in voltages.items()},
        {name: value / through for name, value in currents.items()},
    )


def _column(value: FloatArray) -> FloatArray:
    return np.asarray(value)[..., np.newaxis]


def _admittance(element: Element, omega: FloatArray, orders: FloatArray) -> ComplexArray:
    """Admittance that is exactly zero for what is open."""
    match element:
        case Capacitor():
            susceptance = omega * _column(element.capacitance)
            return np.asarray(1j * susceptance / (1 + 1j * susceptance * _column(element.resistance)))
        case Inductor():
            # Divided by the reactance first, so that an infinite choke gives zero and not a NaN.
            reactance = omega * _column(element.inductance)
            return np.asarray((1 / reactance) / (element.resistance_at(orders) / reactance + 1j))
        case Resistor():
            return np.asarray(1 / _column(element.resistance) + 0j)
        case DampedInductor() | Termination():
            return 1 / _impedance(element, omega, orders)


def _impedance(element: Element, omega: FloatArray, orders: FloatArray) -> ComplexArray:
    """Impedance that is exactly zero for what is a wire."""
    match element:
        case Capacitor():
            return np.asarray(_column(element.resistance) - 1j / (omega * _column(element.capacitance)))
        case Inductor():
            return np.asarray(element.resistance_at(orders) + 1j * omega * _column(element.inductance))
        case Resistor():
            return np.asarray(_column(element.resistance) + 0j)
        case DampedInductor():
            reactance = omega * _column(element.inductance)
            return np.asarray(1j * reactance / (1 + 1j * reactance / _column(element.resistance)))
        case Termination():
            return element.impedance_at(orders)
