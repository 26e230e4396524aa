"""Pi and pi-L ladders out of the values of their parts."""

import numpy as np

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    Coupling,
    DampedInductor,
    Element,
    FloatArray,
    Inductor,
    Resistor,
)
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import LOSSLESS, Parts

PLATE = "plate"
LEAD_END = "lead_end"
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
        With the nodes ``plate``, ``lead_end`` (between plate lead and suppressor), ``junction`` (behind both),
        ``tank`` (behind the blocking capacitor), ``output`` (behind the coil) and ``antenna`` (behind the
        output coil); a node whose separating part is absent is not there, and what would hang on it hangs on
        the one before. A capacitor with a lead stands behind it, on a ``..._terminal`` of its own: its voltage
        is that of its plates, which near their series resonance exceeds the node's. Padding and stray have
        other leads and stay on the node.
    """
    branches, node = _plate_side(parts)
    if not antenna_connected:
        branches.insert(0, Branch("plate_resistance", Resistor(parts.plate_load), PLATE))
    branches += [
        *_led(parts, "tune_capacitor", tune, parts.tune_q, parts.tune_lead, node),
        _branch(parts, Capacitor, "tune_padding", parts.tune_padding, parts.tune_padding_q, node),
        _branch(parts, Capacitor, "tune_stray", parts.tune_stray, LOSSLESS, node),
        *_wound(parts, "coil", node, OUTPUT),
        *_led(parts, "load_capacitor", load, parts.load_q, parts.load_lead, OUTPUT),
        _branch(parts, Capacitor, "load_padding", parts.load_padding, parts.load_padding_q, OUTPUT),
        _branch(parts, Capacitor, "load_stray", parts.load_stray, LOSSLESS, OUTPUT),
    ]
    node = OUTPUT
    couplings = []
    if parts.topology == "pi-L":
        branches += _wound(parts, "output_coil", OUTPUT, ANTENNA)
        node = ANTENNA
        if np.any(parts.coupling != 0):
            couplings.append(Coupling("coil", "output_coil", parts.coupling))
    branches.append(_branch(parts, Inductor, "output_choke", parts.output_choke, parts.output_choke_q, node))
    antenna: Element = Resistor(np.full(len(parts), np.inf))
    if antenna_connected:
        antenna = parts.termination or Resistor(parts.antenna_resistance)
    branches.append(Branch("antenna", antenna, node))
    return Ladder(parts.frequency, tuple(branches), tuple(couplings))


def _plate_side(parts: Parts) -> tuple[list[Branch], str]:
    """Lead from the plate to the tank: the branches, and the node where they end."""
    node = PLATE
    branches = [_branch(parts, Capacitor, "output_capacitance", parts.output_capacitance, LOSSLESS, node)]
    if parts.has_plate_lead:
        end = LEAD_END if parts.has_suppressor else JUNCTION
        branches.append(_branch(parts, Inductor, "plate_lead", parts.plate_lead, LOSSLESS, node, end))
        node = end
    if parts.has_suppressor:
        suppressor = DampedInductor(parts.suppressor_inductance, parts.suppressor_resistance)
        branches.append(Branch("suppressor", suppressor, node, JUNCTION))
        node = JUNCTION
    branches += [
        _branch(parts, Inductor, "plate_choke", parts.plate_choke, parts.plate_choke_q, node),
        _branch(parts, Capacitor, "plate_choke_capacitance", parts.plate_choke_capacitance, LOSSLESS, node),
    ]
    if parts.has_blocking_capacitor:
        value, quality, lead = parts.blocking_capacitance, parts.blocking_q, parts.blocking_lead
        branches += _led(parts, "blocking_capacitor", value, quality, lead, node, TANK)
        node = TANK
    return branches, node


def _branch(
    parts: Parts,
    kind: type[Capacitor] | type[Inductor],
    name: str,
    value: FloatArray,
    quality: FloatArray | float,
    node: str,
    to: str | None = None,
) -> Branch:
    return Branch(name, kind.of_quality(value, np.asarray(quality), parts.frequency), node, to)


def _led(
    parts: Parts,
    name: str,
    value: FloatArray,
    quality: FloatArray,
    lead: FloatArray,
    node: str,
    to: str | None = None,
) -> list[Branch]:
    """Put a capacitor behind the inductance of its lead, if it has any."""
    if not np.any(lead > 0):
        return [_branch(parts, Capacitor, name, value, quality, node, to)]
    which = name.removesuffix("_capacitor")
    return [
        _branch(parts, Inductor, f"{which}_lead", lead, LOSSLESS, node, f"{which}_terminal"),
        _branch(parts, Capacitor, name, value, quality, f"{which}_terminal", to),
    ]


def _wound(parts: Parts, name: str, node: str, to: str) -> list[Branch]:
    """Put a winding's self-capacitance across it, if it has any."""
    value, quality, across = (getattr(parts, key) for key in (name, f"{name}_q", f"{name}_capacitance"))
    found = [_branch(parts, Inductor, name, value, quality, node, to)]
    if np.any(across > 0):
        found.append(_branch(parts, Capacitor, f"{name}_capacitance", across, LOSSLESS, node, to))
    return found
