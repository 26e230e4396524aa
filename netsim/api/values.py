"""Numbers and texts with units, as Python hands them over."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from netsim.description.units import parse_quantity

Values = str | ArrayLike
"""A text with a unit, such as ``"58 pF"``, or numbers in SI units."""


def value_of(value: Any, unit: str) -> Any:
    """Return numbers as they are, and texts as their values in a unit."""
    if isinstance(value, str):
        return parse_quantity(value, unit)
    if isinstance(value, list | tuple):
        return np.asarray([value_of(item, unit) for item in value])
    return np.asarray(value, dtype=np.float64)
