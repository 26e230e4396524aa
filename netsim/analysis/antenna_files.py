"""Measured antennas and filters of the file, at the orders of its networks."""

from dataclasses import replace

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray, Resistor, Termination
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.reflection import behind_filter
from netsim.circuit.stage import ORDERS
from netsim.description.reader import Amplifier
from netsim.description.touchstone import Measurement, load
from netsim.solvers import batch
from netsim.solvers.solution import Solution


def filtered(
    amplifier: Amplifier, parts: Parts, antenna: ComplexArray, resistance: FloatArray
) -> Termination:
    """Put the file's filter before antennas [ohm] at orders 1 to 10, a resistance at those above."""
    measurement = load(amplifier, "filter")
    return behind_filter(at_orders(measurement, parts), measurement.reference, antenna, resistance)


def at_orders(measurement: Measurement, parts: Parts) -> ComplexArray:
    """Give the scattering parameters at all orders of all networks, shape ``(networks, 10, ports, ports)``."""
    return measurement.at(parts.frequency[:, np.newaxis] * np.arange(1, ORDERS + 1))


def resistance_of(parts: Parts) -> FloatArray:
    """Give the matched antenna's resistance of every network [ohm], shape ``(networks,)``."""
    return np.broadcast_to(np.asarray(parts.antenna_resistance, dtype=np.float64), (len(parts),))


def source_at(
    ladder: Ladder, resistance: FloatArray, orders: FloatArray
) -> tuple[ComplexArray, ComplexArray]:
    """Give what the antenna terminal is to an antenna, for 1 A into the plate.

    Parameters
    ----------
    ladder : Ladder
        Ending in its antenna, of ``networks`` networks.
    resistance : ndarray
        Any antenna [ohm], shape ``(networks,)``.
    orders : ndarray
        Multiples of each working frequency, shape ``(orders,)``.

    Returns
    -------
    voltage, impedance : ndarray
        Open-circuit voltage [V] and impedance [ohm] behind it, shape ``(networks, orders)``.

    Notes
    -----
    The impedance is the open terminal's voltage over the current that a resistance draws, less that.
    """
    terminal = ladder.branches[-1]

    def ending_in(value: FloatArray) -> Solution:
        last = replace(terminal, element=Resistor(value))
        return batch.solve(replace(ladder, branches=(*ladder.branches[:-1], last)), orders)

    voltage = ending_in(np.full(len(ladder), np.inf)).node_voltage[ladder.nodes[-1]]
    current = ending_in(resistance).branch_current[terminal.name]
    return voltage, voltage / current - resistance[:, np.newaxis]
