"""A ladder: branches in order from the plate to the antenna, for many networks at once."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    Coupling,
    Element,
    FloatArray,
    Inductor,
    Resistor,
    Termination,
)


@dataclass(frozen=True)
class Ladder:
    """Branches from plate to antenna.

    Attributes
    ----------
    frequency : ndarray
        Working frequency of each network [Hz], shape ``(networks,)``.
    branches : tuple of Branch
        In order from the plate, the antenna last. Series branches between the same two nodes stand in parallel;
        one that ends on a node of which nothing leads on is the lead of the branch that hangs there.
    couplings : tuple of Coupling
        Between inductors among the branches.
    """

    frequency: FloatArray
    branches: tuple[Branch, ...]
    couplings: tuple[Coupling, ...] = ()

    @property
    def nodes(self) -> tuple[str, ...]:
        """Names of all nodes: the plate first, the antenna's last."""
        last = self.branches[-1].node
        ends = (end for branch in self.branches for end in (branch.node, branch.to))
        return (*(end for end in dict.fromkeys(ends) if end not in (None, last)), last)

    @cached_property
    def line(self) -> tuple[str, ...]:
        """Names of the nodes on the way from the plate to the antenna, which leaves out the far ends of leads."""
        before = {branch.to: branch.node for branch in self.branches if branch.to is not None}
        way = [self.branches[-1].node]
        while way[-1] in before:
            way.append(before[way[-1]])
        return tuple(reversed(way))

    def between(self, node: str, far: str) -> tuple[Branch, ...]:
        """Give the series branches, in parallel to each other, from one node to another."""
        return tuple(branch for branch in self.branches if (branch.node, branch.to) == (node, far))

    def shunts(self, node: str) -> tuple[tuple[Branch, ...], ...]:
        """Give what leads from a node of the line to ground: each a shunt branch, or a lead and a shunt branch."""
        line = self.line
        found: list[tuple[Branch, ...]] = []
        for branch in self.branches:
            if branch.node == node and branch.to is None:
                found.append((branch,))
            elif branch.node == node and branch.to not in line:
                found += [(branch, end) for end in self.branches if end.node == branch.to]
        return tuple(found)

    def mutual_inductance(self, coupling: Coupling) -> FloatArray:
        """Compute ``k sqrt(L1 L2)`` of a coupling [H], shape ``(networks,)``."""
        values = [self[name].element for name in (coupling.one, coupling.other)]
        one, other = (value.inductance for value in values if isinstance(value, Inductor))
        return np.broadcast_to(coupling.coefficient * np.sqrt(one * other), (len(self),))

    def __len__(self) -> int:
        return len(self.frequency)

    def __getitem__(self, name: str) -> Branch:
        for branch in self.branches:
            if branch.name == name:
                return branch
        raise KeyError(name)

    def __contains__(self, name: object) -> bool:
        return any(branch.name == name for branch in self.branches)

    def single(self, index: int) -> "Ladder":
        """Take one network out, leaving away the branches that are open circuits in it.

        Parameters
        ----------
        index : int
            Which network.

        Returns
        -------
        Ladder
            Of one network: every array has shape ``(1,)``.
        """
        taken = self.take(slice(index, index + 1))
        return replace(taken, branches=tuple(b for b in taken.branches if not _is_open(b.element)))

    def take(self, rows: slice) -> "Ladder":
        """Choose some of the networks, all branches kept; every array has the shape of the chosen."""
        return Ladder(
            self.frequency[rows],
            tuple(replace(b, element=_pick(b.element, rows, len(self))) for b in self.branches),
            tuple(
                replace(pair, coefficient=np.broadcast_to(pair.coefficient, (len(self),))[rows])
                for pair in self.couplings
            ),
        )

    def singles(self) -> Iterator["Ladder"]:
        """Walk over the networks, one ladder each."""
        return (self.single(index) for index in range(len(self)))


def _pick(element: Element, rows: slice, networks: int) -> Element:
    """Take the values of some networks out of an element's arrays."""
    if isinstance(element, Termination):
        return element.take(rows, networks)
    values: dict[str, Any] = {
        field.name: np.broadcast_to(getattr(element, field.name), (networks,))[rows]
        for field in fields(element)
    }
    return replace(element, **values)


def _is_open(element: Element) -> bool:
    """Tell whether an element of one network carries no current whatever the voltage."""
    match element:
        case Capacitor():
            return bool(element.capacitance[0] == 0)
        case Inductor():
            return bool(np.isinf(element.inductance[0]))
        case Resistor():
            return bool(np.isinf(element.resistance[0]))
    return False
