"""The way from the antenna's resistance to the plate, part by part, as a Smith chart shows it."""

from dataclasses import dataclass

import numpy as np

from netsim.analysis import Analysis
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.reflection import reflection_of

_COARSE, _STEP = 401, 0.03
_NAMES = {
    "tune": "tune capacitor with padding and stray",
    "load": "load capacitor with padding and stray",
    "plate_choke": "plate choke with its self-capacitance",
    "output_capacitance": "tube's output capacitance",
}


@dataclass(frozen=True)
class Move:
    """From one impedance to the next [ohm], by a part in series or across."""

    part: str
    shunt: bool
    start: complex
    end: complex

    def track(self, reference: float) -> ComplexArray:
        """Give reflections against a reference [ohm] on the way, the part growing from nothing to its value.

        They are even along the way, one for every few hundredths of the chart's radius. In series the impedance
        grows in proportion, across the admittance does.
        """
        coarse = reflection_of(self._part_way(np.linspace(0, 1, _COARSE)), reference)
        length = np.concatenate([[0.0], np.abs(np.diff(coarse)).cumsum()])
        even = np.linspace(0, length[-1], 5 + int(length[-1] / _STEP))
        share = np.interp(even, length, np.linspace(0, 1, _COARSE))
        return reflection_of(self._part_way(share), reference)

    def _part_way(self, share: FloatArray) -> ComplexArray:
        """Impedances [ohm] when the part has a share of its value."""
        if not self.shunt:
            return np.asarray(self.start + (self.end - self.start) * share)
        first, last = 1 / self.start, 1 / self.end
        return np.asarray(1 / (first + (last - first) * share))


def moves(result: Analysis, row: int) -> list[Move]:
    """Walk from the antenna back to the plate of one network at the working frequency.

    Impedances come from its voltages and currents, nothing is calculated anew. Parts across the same node that belong
    together are one move; open branches are none.
    """
    voltage = {name: v[row, 0] for name, v in result.solved.solution.node_voltage.items()}
    current = {name: i[row, 0] for name, i in result.solved.solution.branch_current.items()}
    ladder = result.solved.ladder
    *branches, antenna = ladder.branches
    carried = current[antenna.name]
    seen = complex(voltage[antenna.node] / carried)
    found: list[Move] = []
    for branch in reversed(branches):
        shunt = branch.to not in ladder.line
        # A capacitor behind its lead goes with the lead, a self-capacitance with its winding.
        within = branch.node not in ladder.line or (
            not shunt and branch is not ladder.between(branch.node, str(branch.to))[0]
        )
        if within or (shunt and current[branch.name] == 0):
            continue
        if shunt:
            carried = carried + current[branch.name]
        after = complex(voltage[branch.node] / carried)
        part = _named(branch.name)
        if found and shunt and found[-1].part == part:
            found[-1] = Move(part, True, found[-1].start, after)
        else:
            found.append(Move(part, shunt, seen, after))
        seen = after
    return found


def _named(branch: str) -> str:
    """Name a branch for people; what hangs together at a node has one name."""
    for start, words in _NAMES.items():
        if branch.startswith(start):
            return words
    return branch.replace("_", " ")
