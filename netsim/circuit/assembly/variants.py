"""Copies of the described networks that differ in some quantities: what is sampled, fitted and searched."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from netsim.circuit.elements import FloatArray, IndexArray
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


def in_rows(values: Sequence[float | None], each: IndexArray, absent: float = 0.0) -> FloatArray:
    """Spread values over their networks, so many `each`; a value that differs is an array over all of them."""
    if not any(isinstance(value, np.ndarray) for value in values):
        plain = np.array([absent if value is None else value for value in values], dtype=np.float64)
        return plain.repeat(each)
    found = np.full(int(each.sum()), absent)
    for value, end, count in zip(values, np.cumsum(each), each, strict=True):
        if value is not None:
            found[end - count : end] = np.broadcast_to(value, found.shape)[end - count : end]
    return found
