"""The network looked at backwards: a resistor stands in for the tube, an analyser at the antenna socket."""

from dataclasses import dataclass, replace

import numpy as np

from netsim.analysis.antenna_files import resistance_of, source_at
from netsim.circuit.assembly import measured_orders
from netsim.circuit.elements import (
    Branch,
    Capacitor,
    ComplexArray,
    FloatArray,
    Inductor,
    Resistor,
)
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import LOSSLESS, Parts
from netsim.circuit.reflection import impedance_of, reflection_of, through_filter
from netsim.circuit.topology import PLATE, build_ladder
from netsim.description.reader import Amplifier
from netsim.description.touchstone import load


@dataclass(frozen=True)
class PlateResistor:
    """What is clipped from plate to chassis; scalars or arrays of shape ``(networks,)``.

    Attributes
    ----------
    resistance : ndarray
        [ohm].
    inductance : ndarray
        Of it and its leads, in series with it [H].
    capacitance : ndarray
        Across both [F].
    """

    resistance: FloatArray
    inductance: FloatArray
    capacitance: FloatArray


def cold_ladder(parts: Parts, tune: FloatArray, load_setting: FloatArray, resistor: PlateResistor) -> Ladder:
    """Return the circuit of a cold match, its antenna still in place.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    tune, load_setting : ndarray
        Settings [F], shape ``(networks,)``.
    resistor : PlateResistor
        In place of the tube, whose capacitance stays: it stands cold in its socket. So do the choke, whose far
        end the supply's capacitor holds at chassis, and the suppressor.
    """
    shape = (len(parts),)
    inductance, resistance, capacitance = (
        np.broadcast_to(np.asarray(value, dtype=float), shape)
        for value in (resistor.inductance, resistor.resistance, resistor.capacitance)
    )
    end = PLATE
    added = []
    if np.any(inductance > 0):
        end = "plate_resistor_end"
        lead = Inductor.of_quality(inductance, np.asarray(LOSSLESS), parts.frequency)
        added.append(Branch("plate_resistor_lead", lead, PLATE, end))
    added.append(Branch("plate_resistor", Resistor(resistance), end))
    if np.any(capacitance > 0):
        across = Capacitor.of_quality(capacitance, np.asarray(LOSSLESS), parts.frequency)
        added.append(Branch("plate_resistor_capacitance", across, PLATE))
    ladder = build_ladder(replace(parts, termination=None), tune, load_setting)
    return replace(ladder, branches=(*added, *ladder.branches))


def socket_impedance(
    amplifier: Amplifier, parts: Parts, tune: FloatArray, load_setting: FloatArray, resistor: PlateResistor
) -> ComplexArray:
    """Compute what an analyser at the antenna socket shows.

    Parameters
    ----------
    amplifier : Amplifier
        The file; where it has a filter between network and antenna, the socket is behind that.
    parts, tune, load_setting, resistor
        As of `cold_ladder`.

    Returns
    -------
    ndarray
        Complex [ohm], shape ``(networks,)``.

    Notes
    -----
    The antenna terminal's impedance with the antenna off, by Thevenin: the open voltage over the current into a
    resistor, less the resistor. Through a filter with scattering parameters S and G the reflection of that,
    ``S22 + S12 S21 G / (1 - S11 G)``. Both derived.
    """
    ladder = cold_ladder(parts, tune, load_setting, resistor)
    seen: ComplexArray = source_at(ladder, resistance_of(parts), np.ones(1))[1][:, 0]
    if amplifier.description.antenna.filter is None:
        return seen
    measurement = load(amplifier, "filter")
    s = measured_orders(measurement, parts.frequency)[:, 0]
    into = reflection_of(seen, measurement.reference)
    return impedance_of(through_filter(s, into), measurement.reference)
