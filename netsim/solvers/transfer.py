"""Plate impedance and antenna current alone, of very many networks: the batch solver's arithmetic, pared down."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    ComplexArray,
    DampedInductor,
    FloatArray,
    Inductor,
    Resistor,
    Termination,
)
from netsim.circuit.ladder import Ladder

_BLOCK = 1024
"""Networks at a time, so that all arrays stay in the processor's cache."""

_Parts = tuple[FloatArray | None, FloatArray | None]

ANTENNA = "antenna"
"""Name of the branch whose current is asked for."""


@dataclass(frozen=True)
class Transfer:
    """For 1 A of peak current sent into the plate node; arrays of shape ``(networks, orders)``.

    Attributes
    ----------
    plate_impedance : ndarray
        Complex [ohm].
    antenna_current : ndarray
        Complex peak current through the antenna [A].
    """

    plate_impedance: ComplexArray
    antenna_current: ComplexArray


def transfer(ladder: Ladder, orders: FloatArray) -> Transfer:
    """Solve every network of a ladder at every order for its two ends.

    Parameters
    ----------
    ladder : Ladder
        Of ``networks`` networks.
    orders : ndarray
        Multiples of each working frequency, shape ``(orders,)``; need not be whole numbers.

    Notes
    -----
    Kirchhoff's laws from the antenna back, real and imaginary parts apart: a part without losses then costs
    two multiplications instead of four, and none is made complex first. Networks go through in blocks.
    """
    n = len(ladder)
    omega = np.broadcast_to(2 * np.pi * ladder.frequency, (n,))
    impedance = np.empty((n, len(orders)), dtype=np.complex128)
    antenna = np.empty_like(impedance)
    for start in range(0, n, _BLOCK):
        rows = slice(start, min(start + _BLOCK, n))
        impedance[rows], antenna[rows] = _block(ladder, omega[rows], orders, rows, n)
    return Transfer(impedance, antenna)


def _block(
    ladder: Ladder, omega: FloatArray, orders: FloatArray, rows: slice, networks: int
) -> tuple[ComplexArray, ComplexArray]:
    """Solve one block: 1 V at the antenna terminal, and back to the plate."""
    shape = len(omega), len(orders)
    frequency = np.outer(omega, orders)
    voltage = [np.ones(shape), np.zeros(shape)]
    through = [np.zeros(shape), np.zeros(shape)]
    antenna = [np.zeros(shape), np.zeros(shape)]
    scratch = np.empty(shape)
    for branch in reversed(ladder.branches):
        if branch.to is not None:
            _add_product(voltage, _impedance(branch, frequency, orders, rows, networks), through, scratch)
            continue
        known = _admittance(branch, frequency, orders, rows, networks)
        _add_product(through, known, voltage, scratch)
        if branch.name == ANTENNA:
            _add_product(antenna, known, voltage, scratch)
    current = _joined(through)
    return _joined(voltage) / current, _joined(antenna) / current


def _add_product(
    total: list[FloatArray], known: _Parts, factor: list[FloatArray], scratch: FloatArray
) -> None:
    """Add ``(real + j imaginary) factor`` in place; None is zero."""
    real, imaginary = known
    if real is not None:
        total[0] += np.multiply(real, factor[0], out=scratch)
        total[1] += np.multiply(real, factor[1], out=scratch)
    if imaginary is not None:
        total[0] -= np.multiply(imaginary, factor[1], out=scratch)
        total[1] += np.multiply(imaginary, factor[0], out=scratch)


def _column(value: FloatArray, rows: slice, networks: int) -> FloatArray:
    return np.broadcast_to(value, (networks,))[rows, np.newaxis]


def _admittance(branch: Branch, omega: FloatArray, orders: FloatArray, rows: slice, n: int) -> _Parts:
    """Admittance of a shunt branch."""
    match branch.element:
        case Capacitor(capacitance=capacitance, resistance=resistance):
            susceptance, series = omega * _column(capacitance, rows, n), _column(resistance, rows, n)
            if not series.any():
                return None, susceptance
            share = susceptance * series
            imaginary = susceptance / (1 + share * share)
            return imaginary * share, imaginary
        case Inductor(inductance=inductance, resistance=resistance):
            reactance = omega * _column(inductance, rows, n)
            series = _column(resistance, rows, n)
            if not series.any():
                return None, -1 / reactance
            # Divided by the reactance first, so that an infinite choke gives zero and not a NaN.
            share = series * np.sqrt(orders) / reactance
            imaginary = 1 / (reactance * (1 + share * share))
            return imaginary * share, -imaginary
        case DampedInductor(inductance=inductance, resistance=resistance):
            return 1 / _column(resistance, rows, n), -1 / (omega * _column(inductance, rows, n))
        case Resistor(resistance=resistance):
            return 1 / _column(resistance, rows, n), None
        case Termination() as load:
            value = 1 / np.broadcast_to(load.impedance_at(orders), (n, len(orders)))[rows]
            return value.real, value.imag


def _impedance(branch: Branch, omega: FloatArray, orders: FloatArray, rows: slice, n: int) -> _Parts:
    """Impedance of a series branch."""
    match branch.element:
        case Capacitor(capacitance=capacitance, resistance=resistance):
            return _column(resistance, rows, n), -1 / (omega * _column(capacitance, rows, n))
        case Inductor(inductance=inductance, resistance=resistance):
            return _column(resistance, rows, n) * np.sqrt(orders), omega * _column(inductance, rows, n)
        case DampedInductor(inductance=inductance, resistance=resistance):
            reactance = omega * _column(inductance, rows, n)
            share = reactance / _column(resistance, rows, n)
            imaginary = reactance / (1 + share * share)
            return imaginary * share, imaginary
        case Resistor(resistance=resistance):
            return _column(resistance, rows, n), None
        case Termination() as load:
            value = np.broadcast_to(load.impedance_at(orders), (n, len(orders)))[rows]
            return value.real, value.imag


def _joined(parts: list[FloatArray]) -> ComplexArray:
    joined = np.empty(parts[0].shape, dtype=np.complex128)
    joined.real, joined.imag = parts
    return joined
