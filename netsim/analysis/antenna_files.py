"""Measured antennas and filters of the file, at the orders of its networks."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from netsim.circuit.assembly import measured_orders
from netsim.circuit.elements import ComplexArray, FloatArray, IndexArray, Resistor, Termination
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.reflection import behind_filter, impedance_of
from netsim.circuit.scattering import is_within, neighbours, phase_steps
from netsim.circuit.stage import ORDERS
from netsim.description.formatting import format_quantity
from netsim.description.reader import Amplifier
from netsim.description.touchstone import Measurement, hertz, load
from netsim.solvers import batch
from netsim.solvers.solution import Solution
from netsim.verdict.result import Note

SPARSE = np.radians(30.0)
"""Turn of the phase between two points from which there are too few of them (common practice, no source)."""


def antenna_at_orders(amplifier: Amplifier, parts: Parts) -> Termination:
    """Give the measured antenna, the matched resistance in its place at orders beyond the measurement.

    Returns
    -------
    Termination
        At orders 1 to 10 of all networks; what is delivered is NaN beyond the measurement.
    """
    measurement, resistance = load(amplifier, "measured"), resistance_of(parts)
    reflection = measured_orders(measurement, parts.frequency)[..., 0, 0]
    unknown = np.isnan(reflection)
    impedance = impedance_of(np.where(unknown, 0.0, reflection), measurement.reference)
    stand_in = np.where(unknown, resistance[:, np.newaxis], impedance)
    return Termination(stand_in, resistance).hiding(unknown)


def filtered(
    measurement: Measurement, parts: Parts, antenna: Termination, owner: IndexArray | None = None
) -> Termination:
    """Put a measured filter before antennas.

    Parameters
    ----------
    measurement : Measurement
        Of the filter.
    parts : Parts
        Of ``networks`` networks.
    antenna : Termination
        At orders 1 to 10, of ``n`` rows.
    owner : ndarray of int, optional
        Which network each row belongs to, shape ``(n,)``; its own by default.
    """
    scattering = measured_orders(measurement, parts.frequency)
    if owner is not None:
        scattering = scattering[owner]
    seen = behind_filter(scattering, measurement.reference, antenna.impedance, antenna.beyond)
    return seen.hiding(seen.unknown | antenna.unknown)


def resistance_of(parts: Parts) -> FloatArray:
    """Give the matched antenna's resistance of every network [ohm], shape ``(networks,)``."""
    return np.broadcast_to(np.asarray(parts.antenna_resistance, dtype=np.float64), (len(parts),))


def remarks(amplifier: Amplifier, parts: Parts, keys: tuple[str, ...]) -> Iterator[Note]:
    """List what measurements leave open: points too far apart, harmonics beyond their ends.

    Parameters
    ----------
    amplifier : Amplifier
        Whose files they are.
    parts : Parts
        Of its networks.
    keys : tuple of str
        ``measured``, ``filter``, whichever are in use.

    Yields
    ------
    Note
        Codes ``sparse_measurement`` and ``harmonics_not_measured``, at most one of each for each file.
    """
    for key in keys:
        measurement, place = load(amplifier, key), ("antenna", key)
        name = getattr(amplifier.description.antenna, key)
        line, where = amplifier.position(*place).line, amplifier.key(*place)
        told = _sparse(name, measurement, np.unique(parts.frequency))
        if told is not None:
            yield Note("sparse_measurement", told, line, where)
        orders = np.unique(parts.frequency[:, np.newaxis] * np.arange(2, ORDERS + 1))
        missed = orders[~is_within(measurement.frequency, orders)]
        if missed.size:
            matched = format_quantity(float(resistance_of(parts)[0]), "ohm", trim=True)
            yield Note(
                "harmonics_not_measured",
                f"{name} ends at {hertz(float(measurement.frequency[-1]))}: what harmonics from "
                f"{hertz(float(missed[0]))} on meet is unknown. Their levels there are not given, and what they add "
                f"to stresses is worked out with the matched {matched} in its place; measure further to know",
                line,
                where,
            )


def _sparse(name: str, measurement: Measurement, working: FloatArray) -> str | None:
    """Tell where neighbouring points turn the phase too far, and the step that would do."""
    turn = phase_steps(measurement.frequency, measurement.scattering, working)
    far = np.flatnonzero(turn > SPARSE)
    if not far.size:
        return None
    lower, upper = neighbours(measurement.frequency, working[far])
    step = measurement.frequency[upper] - measurement.frequency[lower]
    worst = int(np.argmax(turn[far] / step))
    wanted = float(step[worst] * SPARSE / turn[far][worst])
    listed = ", ".join(hertz(float(f)) for f in working[far])
    return (
        f"{name}: around {listed} neighbouring points turn the phase by up to "
        f"{np.degrees(turn[far].max()):.0f} degrees at steps of {hertz(float(step[worst]))}, and between them is "
        f"interpolated; steps of {hertz(wanted)} or less turn it by 30 degrees at most"
    )


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
