"""Many networks at many frequencies at once, in numpy: from the antenna back to the plate."""

from collections.abc import Sequence

import numpy as np

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    ComplexArray,
    Coupling,
    DampedInductor,
    Element,
    FloatArray,
    Inductor,
    Resistor,
    Termination,
)
from netsim.circuit.ladder import Ladder
from netsim.solvers.solution import Solution

_VALUES = 2560
"""Networks times orders at a time, so that what is worked out for them stays in the processor's cache."""

_MANY = 16384
"""The same of very many: cutting them up would take longer than the work."""


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
    voltages = {name: np.zeros(shape, dtype=np.complex128) for name in ladder.nodes}
    currents = {branch.name: np.zeros(shape, dtype=np.complex128) for branch in ladder.branches}
    whole = len(ladder) * len(orders)
    step = max(1, (_VALUES if whole <= _MANY else _MANY) // len(orders))
    for start in range(0, len(ladder), step):
        rows = slice(start, start + step)
        walk = _walked(ladder if len(ladder) <= step else ladder.take(rows), orders)
        for into, found in ((voltages, walk.voltages), (currents, walk.currents)):
            for name, value in found.items():
                np.divide(value, walk.current, out=into[name][rows])
    return Solution(orders, voltages, currents)


def _walked(ladder: Ladder, orders: FloatArray) -> "_Walk":
    """Go the whole way from the antenna terminal to the plate."""
    walk = _Walk(ladder, orders)
    line = list(ladder.line)
    second = {ladder[coupling.other].to: coupling for coupling in ladder.couplings}
    far = line.pop()
    while line:
        node = line.pop()
        if far in second:
            middle, node = node, line.pop()
            walk.take_coupled(node, middle, far, second[far])
        else:
            walk.take_link(node, far)
        far = node
    walk.take_shunts(far)
    return walk


class _Walk:
    """How far Kirchhoff's laws have led from the antenna terminal, which has 1 V, towards the plate.

    Attributes
    ----------
    voltage, current : ndarray
        At the node of the line that was reached, and flowing on from it, shape ``(networks, orders)``.
    """

    def __init__(self, ladder: Ladder, orders: FloatArray) -> None:
        self.ladder, self.orders = ladder, orders
        self.omega = 2 * np.pi * ladder.frequency[:, np.newaxis] * orders
        self.voltage: ComplexArray = np.ones(self.omega.shape, dtype=np.complex128)
        self.current: ComplexArray = np.zeros(self.omega.shape, dtype=np.complex128)
        self.voltages = {ladder.nodes[-1]: self.voltage}
        self.currents: dict[str, ComplexArray] = {}

    def take_shunts(self, node: str) -> None:
        """Add what leaves the node to ground."""
        for *lead, end in self.ladder.shunts(node):
            voltage, own = self.voltage, self._admittance(end)
            if lead:  # by admittances, because an open end draws nothing through any lead
                voltage = self.voltages[end.node] = voltage / (1 + self._impedance(lead[0]) * own)
                self.currents[lead[0].name] = voltage * own
            self.currents[end.name] = voltage * own
            self.current = self.current + voltage * own

    def take_link(self, node: str, far: str) -> None:
        """Go on to the next node towards the plate, past one branch or several in parallel."""
        self.take_shunts(far)
        link = self.ladder.between(node, far)
        if len(link) == 1:
            across = self.current * self._impedance(link[0])
            self.currents[link[0].name] = self.current
        else:
            each = {branch.name: self._admittance(branch) for branch in link}
            across = self.current / sum(each.values())
            self.currents |= {name: across * admittance for name, admittance in each.items()}
        self.voltage = self.voltages[node] = self.voltage + across

    def take_coupled(self, node: str, middle: str, far: str, coupling: Coupling) -> None:
        """Go on by two links at once, whose windings share flux.

        With u and w across the links, i1 and i2 in the windings and a and b the admittances beside them:
        ``u = Z1 i1 + Zm i2``, ``w = Zm i1 + Z2 i2``, ``i2 + b w = I`` flows on, and ``i1 + a u`` is that and
        what the middle node's shunts draw. Solved for i1.
        """
        self.take_shunts(far)
        one, other = (self.ladder[name] for name in (coupling.one, coupling.other))
        z1, z2 = self._impedance(one), self._impedance(other)
        zm = 1j * self.omega * self.ladder.mutual_inductance(coupling)[:, np.newaxis]
        beside_one, beside_other = self._beside(one), self._beside(other)
        a, b = (sum(beside.values()) for beside in (beside_one, beside_other))
        drawn = sum(self._drawn(shunt) for shunt in self.ladder.shunts(middle))
        weight, share = drawn + a * zm * b, 1 + z2 * b
        known = self.current * (1 - a * zm) + drawn * self.voltage + weight * z2 * self.current / share
        i1 = known / (1 + a * z1 - weight * zm / share)
        w = (zm * i1 + z2 * self.current) / share
        i2 = self.current - b * w
        u = z1 * i1 + zm * i2
        self.currents |= {one.name: i1, other.name: i2}
        for beside, across in ((beside_one, u), (beside_other, w)):
            self.currents |= {name: across * admittance for name, admittance in beside.items()}
        self.voltage = self.voltages[middle] = self.voltage + w
        self.take_shunts(middle)
        self.voltage = self.voltages[node] = self.voltage + u

    def _beside(self, winding: Branch) -> dict[str, ComplexArray]:
        """Admittances of what stands in parallel to a series branch, by name."""
        link = self.ladder.between(winding.node, str(winding.to))
        return {branch.name: self._admittance(branch) for branch in link if branch is not winding}

    def _drawn(self, shunt: Sequence[Branch]) -> ComplexArray:
        """Admittance of a shunt branch with its lead."""
        *lead, end = shunt
        own = self._admittance(end)
        return own / (1 + self._impedance(lead[0]) * own) if lead else own

    def _admittance(self, branch: Branch) -> ComplexArray:
        return _admittance(branch.element, self.omega, self.orders)

    def _impedance(self, branch: Branch) -> ComplexArray:
        return _impedance(branch.element, self.omega, self.orders)


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
