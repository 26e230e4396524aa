"""Every branch a two-port of scikit-rf, cascaded; voltages and currents read from chain matrices."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

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

REFERENCE = 50.0
"""Real reference resistance of the scattering matrices in between [ohm]; no result depends on it."""

_Values = dict[str, ComplexArray]


@dataclass(frozen=True)
class _Section:
    """One two-port of the cascade.

    Attributes
    ----------
    chain : ndarray
        Chain matrices, shape ``(networks, orders, 2, 2)``.
    read : callable
        Gives node voltages and branch currents inside from voltage and current at its near end and the voltage
        at its far end.
    """

    chain: ComplexArray
    read: Callable[[ComplexArray, ComplexArray, ComplexArray], tuple[_Values, _Values]]


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
    axis = skrf.Frequency.from_f(np.arange(1, shape[0] * shape[1] + 1), unit="Hz")
    sections = _sections(ladder, 2 * np.pi * ladder.frequency[:, np.newaxis] * orders, orders)
    tail = None
    # First columns of the chain matrices of what begins at each section.
    entering = [(np.ones(shape, dtype=np.complex128), np.zeros(shape, dtype=np.complex128))]
    for section in reversed(sections):
        chain = section.chain.reshape(-1, 2, 2)
        two_port = skrf.Network(frequency=axis, s=skrf.network.a2s(chain, REFERENCE), z0=REFERENCE)
        tail = two_port if tail is None else two_port**tail
        matrix = tail.a
        entering.append((matrix[:, 0, 0].reshape(shape), matrix[:, 1, 0].reshape(shape)))
    entering.reverse()
    per_ampere = 1 / entering[0][1]
    voltages: _Values = {}
    currents: _Values = {}
    for section, (voltage, current), (far, _) in zip(sections, entering, entering[1:], strict=False):
        inside = section.read(voltage * per_ampere, current * per_ampere, far * per_ampere)
        voltages |= inside[0]
        currents |= inside[1]
    return Solution(orders, voltages, currents)


def _sections(ladder: Ladder, omega: FloatArray, orders: FloatArray) -> list[_Section]:
    """Take the ladder apart, from the plate on."""
    impedances = {branch.name: _impedance(branch.element, omega, orders) for branch in ladder.branches}
    coupled = {ladder[coupling.one].node: coupling for coupling in ladder.couplings}
    line = ladder.line
    found = []
    place = 0
    while place < len(line):
        node = line[place]
        found += [_shunt(shunt, impedances) for shunt in ladder.shunts(node)]
        if node in coupled:
            found.append(_coupled(ladder, coupled[node], impedances, omega))
            place += 2
            continue
        if place + 1 < len(line):
            found.append(_series(ladder.between(node, line[place + 1]), impedances))
        place += 1
    return found


def _shunt(shunt: Sequence[Branch], impedances: _Values) -> _Section:
    """Make a section of what leads to ground: a branch, or a branch behind its lead."""
    *_, end = shunt
    admittance = _inverse(np.asarray(sum(impedances[branch.name] for branch in shunt)))

    def read(near: ComplexArray, _: ComplexArray, __: ComplexArray) -> tuple[_Values, _Values]:
        flow = near * admittance
        drop = sum(impedances[branch.name] * flow for branch in shunt[:-1])
        return {shunt[0].node: near, end.node: near - drop}, {branch.name: flow for branch in shunt}

    return _Section(_chain(1, 0, admittance, 1), read)


def _series(link: Sequence[Branch], impedances: _Values) -> _Section:
    """Make a section of one series branch, or of several in parallel."""
    impedance: ComplexArray = impedances[link[0].name]
    if len(link) > 1:
        impedance = _inverse(np.asarray(sum(_inverse(impedances[branch.name]) for branch in link)))

    def read(near: ComplexArray, current: ComplexArray, _: ComplexArray) -> tuple[_Values, _Values]:
        shares = {b.name: current * impedance / impedances[b.name] for b in link} if len(link) > 1 else {}
        return {link[0].node: near}, shares or {link[0].name: current}

    return _Section(_chain(1, impedance, 0, 1), read)


def _coupled(ladder: Ladder, coupling: Coupling, impedances: _Values, omega: FloatArray) -> _Section:
    """Make a section of two windings that share flux, with what stands across them and between them.

    Notes
    -----
    Nodal admittances of its three nodes, the windings' being the inverse of their impedance matrix; the middle
    node is then eliminated.
    """
    one, other = ladder[coupling.one], ladder[coupling.other]
    mutual = _complex(np.zeros_like(omega), omega * ladder.mutual_inductance(coupling)[:, np.newaxis])
    windings = np.linalg.inv(_chain(impedances[one.name], mutual, mutual, impedances[other.name]))
    ends = np.array([[1, -1, 0], [0, 1, -1]])
    nodal = ends.T @ windings @ ends
    beside = [
        (branch.name, which, _inverse(impedances[branch.name]))
        for which, winding in enumerate((one, other))
        for branch in ladder.between(winding.node, str(winding.to))
        if branch.name != winding.name
    ]
    shunts = [_shunt(shunt, impedances) for shunt in ladder.shunts(other.node)]
    for _, which, admittance in beside:
        nodal += np.outer(ends[which], ends[which]) * admittance[..., np.newaxis, np.newaxis]
    nodal[..., 1, 1] += sum(shunt.chain[..., 1, 0] for shunt in shunts)
    outer = nodal[..., ::2, ::2] - nodal[..., ::2, 1:2] @ nodal[..., 1:2, ::2] / nodal[..., 1:2, 1:2]
    back = outer[..., 1, 0]

    def read(near: ComplexArray, _: ComplexArray, far: ComplexArray) -> tuple[_Values, _Values]:
        middle = -(nodal[..., 1, 0] * near + nodal[..., 1, 2] * far) / nodal[..., 1, 1]
        across = np.stack([near - middle, middle - far], axis=-1)
        flow = (windings @ across[..., np.newaxis])[..., 0]
        voltages = {one.node: near, other.node: middle}
        currents = {one.name: flow[..., 0], other.name: flow[..., 1]}
        currents |= {name: across[..., which] * admittance for name, which, admittance in beside}
        for shunt in shunts:
            inside = shunt.read(middle, middle, middle)
            voltages |= inside[0]
            currents |= inside[1]
        return voltages, currents

    determinant = outer[..., 0, 0] * outer[..., 1, 1] - outer[..., 0, 1] * back
    return _Section(
        _chain(-outer[..., 1, 1] / back, -1 / back, -determinant / back, -outer[..., 0, 0] / back), read
    )


def _chain(a: ArrayLike, b: ArrayLike, c: ArrayLike, d: ArrayLike) -> ComplexArray:
    """Stack matrix elements of any broadcastable shapes to matrices."""
    rows = np.broadcast_arrays(a, b, c, d)
    return np.stack(rows, axis=-1).reshape(*rows[0].shape, 2, 2).astype(np.complex128)


def _inverse(impedance: ComplexArray) -> ComplexArray:
    """Admittance, zero for what is open."""
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
