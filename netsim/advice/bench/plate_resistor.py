"""Resistors that come near a plate load: one of the series E12, or two of them."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from netsim.circuit.preferred_values import E12, nearest

NEAR = 0.05
"""A single resistor this near needs no second."""

_DECADES = (1.0, 10.0, 1e2, 1e3, 1e4, 1e5)


@dataclass(frozen=True)
class Resistors:
    """One resistor or two, and what they make together [ohm]."""

    values: tuple[float, ...]
    joined: Literal["alone", "series", "parallel"]
    resistance: float


def nearest_resistors(wanted: float) -> Resistors:
    """Return what comes nearest to a resistance of 10 ohm to 100 kohm, by ratio.

    The nearest preferred number (IEC 60063, E12) if it is within 5 %, else the nearest two in series or in parallel.
    """
    single = nearest(wanted, E12)
    if abs(single / wanted - 1) <= NEAR:
        return Resistors((single,), "alone", single)
    series = np.array([float(f"{mantissa * decade:.6g}") for decade in _DECADES for mantissa in E12])
    one, other = np.meshgrid(series, series, indexing="ij")
    sums = {"series": one + other, "parallel": one * other / (one + other)}
    found = []
    for joined, together in sums.items():
        place = np.unravel_index(np.argmin(np.abs(np.log(together / wanted))), together.shape)
        pair = tuple(sorted((float(one[place]), float(other[place]))))
        found.append(Resistors(pair, "series" if joined == "series" else "parallel", float(together[place])))
    return min(found, key=lambda pair: abs(np.log(pair.resistance / wanted)))
