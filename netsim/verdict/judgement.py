"""How a value is held against its limit, in one place."""

import math

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import FloatArray
from netsim.verdict.result import State

HARMONIC_MARGIN_DB = 3.0
"""Levels within this distance below the limit count as close."""

MATCH_LIMIT = 1.5
"""SWR of the plate impedance against the plate load above which power and dissipation suffer."""

Rows = npt.NDArray[np.intp]


def fraction_of_window(value: FloatArray, low: float, high: float) -> FloatArray:
    """Use of a window: ``max(value / high, low / value)``; NaN where the value is not positive."""
    with np.errstate(divide="ignore", invalid="ignore"):
        used = np.maximum(value / high, low / value)
    return np.where(value > 0, used, np.nan)


def fraction_of_range(needed: FloatArray, minimum: FloatArray, maximum: FloatArray) -> FloatArray:
    """Use of a variable part's range: ``max(needed / maximum, minimum / needed)``; NaN as above."""
    with np.errstate(divide="ignore", invalid="ignore"):
        used = np.maximum(needed / maximum, minimum / needed)
        return np.where(needed > 0, used, np.nan)


def fraction_of_level(level: FloatArray, limit: float) -> FloatArray:
    """Use of a limit in decibels, as a ratio of amplitudes."""
    return np.asarray(10 ** ((level - limit) / 20))


def fraction_of_match(swr: FloatArray) -> FloatArray:
    """Use of the tolerated mismatch: 0 at a match, 1 at an SWR of 1.5."""
    return np.asarray((swr - 1) / (MATCH_LIMIT - 1))


def worst(used: FloatArray, rows: Rows) -> int:
    """Row with the highest use; what has no fraction is worse than any number."""
    return int(rows[np.argmax(np.where(np.isnan(used[rows]), np.inf, used[rows]))])


def state_of(used: float | None, close: float) -> State:
    """Sort a used fraction; None counts as over."""
    if used is None or used > 1:
        return "over"
    return "close" if used > close else "pass"


def number(value: float) -> float | None:
    """Give a plain float, or None for what is not finite."""
    return float(value) if math.isfinite(value) else None
