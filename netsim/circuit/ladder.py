"""A ladder: branches in order from the plate to the antenna, for many networks at once."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from netsim.circuit.elements import Branch, Capacitor, Element, FloatArray, Inductor, Resistor, Termination


@dataclass(frozen=True)
class Ladder:
    """Branches from plate to antenna.

    Attributes
    ----------
    frequency : ndarray
        Working frequency of each network [Hz], shape ``(networks,)``.
    branches : tuple of Branch
        In order from the plate; a series branch ends the node before it and opens the next.
    """

    frequency: FloatArray
    branches: tuple[Branch, ...]

    @property
    def nodes(self) -> tuple[str, ...]:
        """Names of the nodes in order from the plate."""
        first = self.branches[0].node
        return (first, *(branch.to for branch in self.branches if branch.to is not None))

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
        chosen = (
            replace(branch, element=_pick(branch.element, index, len(self))) for branch in self.branches
        )
        return Ladder(
            self.frequency[index : index + 1],
            tuple(branch for branch in chosen if not _is_open(branch.element)),
        )

    def singles(self) -> Iterator["Ladder"]:
        """Walk over the networks, one ladder each."""
        return (self.single(index) for index in range(len(self)))


def _pick(element: Element, index: int, networks: int) -> Element:
    """Take the values of one network out of an element's arrays."""
    if isinstance(element, Termination):
        return element.take(slice(index, index + 1), networks)
    values: dict[str, Any] = {
        field.name: np.broadcast_to(getattr(element, field.name), (networks,))[index : index + 1]
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
