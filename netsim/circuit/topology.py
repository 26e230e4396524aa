"""Pi and pi-L ladders out of the values of their parts."""

import numpy as np

from netsim.circuit.elements import Branch, Capacitor, DampedInductor, Element, FloatArray, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts

PLATE = "plate"
JUNCTION = "junction"
TANK = "tank"
OUTPUT = "output"
ANTENNA = "antenna"


def build_ladder(
    parts: Parts, tune: FloatArray, load: FloatArray, *, antenna_connected: bool = True
) -> Ladder:
    """Put the parts together at given settings of the two variable capacitors.

    Parameters
    ----------
    parts : Parts
        Values of all parts, of ``networks`` networks.
    tune, load : ndarray
        Settings of the variable parts alone [F], broadcastable to ``(networks,)``.
    antenna_connected : bool
        False leaves the antenna terminal open, and puts the plate load across the plate. A resonant
        network without losses has no finite voltage for a given current; what all voltages are relative
        to that at the plate, such a resistance does not change.

    Returns
    -------
    Ladder
        With the nodes ``plate``, ``junction`` (behind the suppressor), ``tank`` (behind the blocking
        capacitor), ``output`` (behind the coil) and ``antenna`` (behind the output coil); a node whose
        separating part is absent is not there, and what would hang on it hangs on the one before.
    """
    frequency = parts.frequency

    def capacitor(value: FloatArray, quality: FloatArray) -> Capacitor:
        return Capacitor.of_quality(value, quality, frequency)

    def inductor(value: FloatArray, quality: FloatArray) -> Inductor:
        return Inductor.of_quality(value, quality, frequency)

    lossless = np.asarray(np.inf)
    node = PLATE
    branches = [Branch("output_capacitance", capacitor(parts.output_capacitance, lossless), node)]
    if not antenna_connected:
        branches.insert(0, Branch("plate_resistance", Resistor(parts.plate_load), node))
    if parts.has_suppressor:
        suppressor = DampedInductor(parts.suppressor_inductance, parts.suppressor_resistance)
        branches.append(Branch("suppressor", suppressor, node, JUNCTION))
        node = JUNCTION
    branches += [
        Branch("plate_choke", inductor(parts.plate_choke, parts.plate_choke_q), node),
        Branch("plate_choke_capacitance", capacitor(parts.plate_choke_capacitance, lossless), node),
    ]
    if parts.has_blocking_capacitor:
        blocking = capacitor(parts.blocking_capacitance, parts.blocking_q)
        branches.append(Branch("blocking_capacitor", blocking, node, TANK))
        node = TANK
    branches += [
        Branch("tune_capacitor", capacitor(tune, parts.tune_q), node),
        Branch("tune_padding", capacitor(parts.tune_padding, parts.tune_padding_q), node),
        Branch("tune_stray", capacitor(parts.tune_stray, lossless), node),
        Branch("coil", inductor(parts.coil, parts.coil_q), node, OUTPUT),
        Branch("load_capacitor", capacitor(load, parts.load_q), OUTPUT),
        Branch("load_padding", capacitor(parts.load_padding, parts.load_padding_q), OUTPUT),
        Branch("load_stray", capacitor(parts.load_stray, lossless), OUTPUT),
    ]
    node = OUTPUT
    if parts.topology == "pi-L":
        output_coil = inductor(parts.output_coil, parts.output_coil_q)
        branches.append(Branch("output_coil", output_coil, OUTPUT, ANTENNA))
        node = ANTENNA
    branches.append(Branch("output_choke", inductor(parts.output_choke, parts.output_choke_q), node))
    antenna: Element = Resistor(np.full(len(parts), np.inf))
    if antenna_connected:
        antenna = parts.termination or Resistor(parts.antenna_resistance)
    branches.append(Branch("antenna", antenna, node))
    return Ladder(frequency, tuple(branches))
