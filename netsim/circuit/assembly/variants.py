"""Copies of the described networks that differ in some quantities: what is sampled, fitted and searched."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.description.key_path import KeyPath
from netsim.description.models.amplifier import Description
from netsim.description.models.tables import with_value


@dataclass(frozen=True)
class Variants:
    """So many copies of every network, which differ in some quantities of the description.

    Attributes
    ----------
    copies : int
        Of every network; they stand beside each other.
    values : mapping of path to ndarray
        Quantities that differ, SI, each of shape ``(copies,)``: one key is one quantity in all networks.
    """

    copies: int = 1
    values: Mapping[KeyPath, FloatArray] = field(default_factory=dict)

    def of(self, description: Description, networks: int) -> Description:
        """Return a description whose differing numbers are arrays of shape ``(networks * copies,)``."""
        for path, values in self.values.items():
            description = with_value(description, path, np.tile(values, networks))
        return description

    def touches(self, *path: str) -> bool:
        """Tell whether anything at or below a path differs."""
        return any(given[: len(path)] == path for given in self.values)


def in_rows(values: Sequence[float | None], copies: int, absent: float = 0.0) -> FloatArray:
    """Spread one value for each network over its copies, which may differ; shape ``(networks * copies,)``."""
    if not any(isinstance(value, np.ndarray) for value in values):
        plain = np.array([absent if value is None else value for value in values], dtype=np.float64)
        return plain.repeat(copies)
    found = np.full((len(values), copies), absent)
    for row, value in enumerate(values):
        if value is not None:  # of what differs, an array over all
            found[row] = np.broadcast_to(value, (found.size,))[row * copies : (row + 1) * copies]
    return found.ravel()
