"""Measured antennas and filters of the file, at the orders of its networks."""

from dataclasses import replace

import numpy as np

from netsim.circuit.assembly import Assembly
from netsim.circuit.elements import ComplexArray, FloatArray, Termination
from netsim.circuit.parts import Parts
from netsim.circuit.reflection import behind_filter
from netsim.circuit.stage import ORDERS
from netsim.description.measurement import Measurement, load
from netsim.description.reader import Description


def with_filter(description: Description, assembly: Assembly) -> Assembly:
    """Put the file's filter between network and antenna, if it names one."""
    if description.amplifier.antenna.filter is None:
        return assembly
    parts = assembly.parts
    resistance = resistance_of(parts)
    antenna = np.broadcast_to(resistance[:, np.newaxis], (len(parts), ORDERS)).astype(np.complex128)
    return replace(
        assembly, parts=replace(parts, termination=filtered(description, parts, antenna, resistance))
    )


def filtered(
    description: Description, parts: Parts, antenna: ComplexArray, resistance: FloatArray
) -> Termination:
    """Put the file's filter before antennas [ohm] at orders 1 to 10, a resistance at those above."""
    measurement = load(description, "filter")
    return behind_filter(at_orders(measurement, parts), measurement.reference, antenna, resistance)


def at_orders(measurement: Measurement, parts: Parts) -> ComplexArray:
    """Give the scattering parameters at all orders of all networks, shape ``(networks, 10, ports, ports)``."""
    return measurement.at(parts.frequency[:, np.newaxis] * np.arange(1, ORDERS + 1))


def resistance_of(parts: Parts) -> FloatArray:
    """Give the matched antenna's resistance of every network [ohm], shape ``(networks,)``."""
    return np.broadcast_to(np.asarray(parts.antenna_resistance, dtype=np.float64), (len(parts),))
