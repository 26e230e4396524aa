"""Netlist text for ngspice: generated names and finite numbers, never a word of the user's."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import Branch, Capacitor, DampedInductor, Inductor, Resistor, Termination
from netsim.circuit.ladder import Ladder
from netsim.errors import EngineFailedError, Problem

TITLE = "output network, one sub-network for each order"
_NAME = re.compile(r"[a-z][a-z0-9_]{0,30}")
_LINE = re.compile(r"[\x20-\x7e]+")


@dataclass(frozen=True)
class SubNetwork:
    """A ladder of one network, to be solved at one multiple of its working frequency.

    Attributes
    ----------
    prefix : str
        Keeps its names apart from those of its neighbours; lower case.
    ladder : Ladder
        Of one network (see ``Ladder.single``).
    order : float
        At which its resistances hold.
    drive : complex
        Phasor of the current sent into the plate [A peak].
    """

    prefix: str
    ladder: Ladder
    order: float
    drive: complex = 1.0

    def node(self, name: str) -> str:
        """Name of a node in the netlist."""
        return f"{self.prefix}_{name}"

    def sense(self, branch: str) -> str:
        """Name of the 0 V source whose current is the branch's."""
        return f"v{self.prefix}_{branch}"


def render(sub_networks: Sequence[SubNetwork], frequency: float, orders: int) -> str:
    """Write the netlist of several sub-networks and their analysis.

    Parameters
    ----------
    sub_networks : sequence of SubNetwork
        Side by side, sharing ground only.
    frequency : float
        Working frequency [Hz].
    orders : int
        The analysis runs at this many multiples of it.

    Returns
    -------
    str
        Lines ending in newline.

    Raises
    ------
    EngineFailedError
        If a value is not finite or a name or line is not one ngspice reads as it stands.

    Notes
    -----
    A zero resistance in series is left out, because ngspice would silently make it 1 milliohm; one that
    stands alone is refused. The operating point is not computed (``noopac``): everything is linear, and
    nodes between capacitors have none.
    """
    lines = [TITLE]
    for sub_network in sub_networks:
        phasor = complex(sub_network.drive)
        magnitude, phase = number(abs(phasor)), number(math.degrees(math.atan2(phasor.imag, phasor.real)))
        prefix = checked_name(sub_network.prefix)
        lines.append(f"i{prefix} 0 {sub_network.node(sub_network.ladder.nodes[0])} ac {magnitude} {phase}")
        for branch in sub_network.ladder.branches:
            lines += _branch(sub_network, branch)
        lines += [
            f"k{prefix}_{pair.one} l{prefix}_{pair.one} l{prefix}_{pair.other} {number(pair.coefficient.item())}"
            for pair in sub_network.ladder.couplings
            if pair.coefficient.item() != 0
        ]
    last = frequency * orders
    lines += [
        ".options noopac",
        f".ac lin {orders} {number(frequency)} {number(last)}",
        ".end",
    ]
    return text(lines)


def text(lines: Sequence[str]) -> str:
    """Join the lines of a netlist; EngineFailedError if one holds what is not printable ASCII."""
    for line in lines:
        if not _LINE.fullmatch(line):
            raise _refused(f"the netlist line {line!r} holds a character that is not printable ASCII")
    return "\n".join(lines) + "\n"


def _branch(sub_network: SubNetwork, branch: Branch) -> list[str]:
    """Lines of one branch: a sense source, then its elements in a row."""
    name = checked_name(branch.name)
    prefix = sub_network.prefix
    start = sub_network.node(checked_name(branch.node))
    end = "0" if branch.to is None else sub_network.node(checked_name(branch.to))
    inner, between = sub_network.node(f"{name}_a"), sub_network.node(f"{name}_b")
    lines = [f"{sub_network.sense(name)} {start} {inner} 0"]
    element = branch.element
    order = np.array([sub_network.order])
    match element:
        case Capacitor():
            resistance = element.resistance.item()
            entry = f"c{prefix}_{name} {inner}"
            value = number(element.capacitance.item())
        case Inductor():
            resistance = element.resistance_at(order).item()
            if resistance == 0 and element.inductance.item() == 0:  # a wire
                return [f"{sub_network.sense(name)} {start} {end} 0"]
            entry = f"l{prefix}_{name} {inner}"
            value = number(element.inductance.item())
        case Resistor():
            return [*lines, f"r{prefix}_{name} {inner} {end} {_resistance(element.resistance.item())}"]
        case DampedInductor():
            return [
                *lines,
                f"l{prefix}_{name} {inner} {end} {number(element.inductance.item())}",
                f"r{prefix}_{name} {inner} {end} {_resistance(element.resistance.item())}",
            ]
        case Termination():
            return [*lines, *_termination(sub_network, element, (prefix, name), (inner, between, end))]
    if resistance == 0:
        return [*lines, f"{entry} {end} {value}"]
    return [*lines, f"{entry} {between} {value}", f"r{prefix}_{name} {between} {end} {number(resistance)}"]


def _termination(
    sub_network: SubNetwork, element: Termination, names: tuple[str, str], nodes: tuple[str, str, str]
) -> list[str]:
    """Resistance and, in series, the coil or capacitor that has the reactance at this order."""
    impedance = element.impedance_at(np.array([sub_network.order])).item()
    omega = 2 * math.pi * sub_network.ladder.frequency.item() * sub_network.order
    label = "_".join(names)
    start, between, end = nodes
    lines = []
    if impedance.imag > 0:
        lines.append(f"l{label} {start} {between} {number(impedance.imag / omega)}")
    elif impedance.imag < 0:
        lines.append(f"c{label} {start} {between} {number(-1 / (omega * impedance.imag))}")
    here = between if lines else start
    if impedance.real == 0:  # a 0 V source joins the ends, and ngspice keeps it at zero ohms
        return [*lines, f"v{label}_end {here} {end} 0"]
    return [*lines, f"r{label} {here} {end} {number(impedance.real)}"]


def number(value: float) -> str:
    """Write a float so that it reads back as the same float."""
    if not math.isfinite(value):
        raise _refused(f"a value in the netlist is {value}, which is not a finite number")
    return repr(float(value))


def _resistance(value: float) -> str:
    """Write a resistance; a zero, which ngspice would make 1 milliohm without a word, is refused."""
    if value == 0:
        raise _refused("a resistance in the netlist is 0 ohm, which ngspice would replace by 1 milliohm")
    return number(value)


def checked_name(name: str) -> str:
    """Give a name that ngspice reads as it stands back."""
    if not _NAME.fullmatch(name):
        raise _refused(f"the name {name!r} is not lower-case letters, digits and underscores")
    return name


def _refused(message: str) -> EngineFailedError:
    return EngineFailedError(
        Problem("netlist_refused", f"{message}; please report this as a fault of netsim")
    )
