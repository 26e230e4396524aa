"""Values that parts come in: what a proposal is rounded to, so that it can be had."""

import bisect
import itertools
import math
from collections.abc import Sequence
from functools import lru_cache

from netsim.circuit.preferred_values import R10, step_up

MINIMA = tuple(p * 1e-12 for p in (3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50))
"""Least capacitance of variable capacitors [F]: vacuum ones from 3 pF, air ones from 8 pF (common practice)."""

AIR_RATIO, VACUUM_RATIO = 40.0, 100.0
"""Largest over least capacitance of variable capacitors that are sold (common practice)."""

SLIP = 4.0
"""A part whose rating would have to be this many times the present one was likelier typed wrongly."""

_ROUNDING = 1e-9
_APART = 1.08
"""Values nearer to each other than this, as a ratio, are not worth two pieces."""

_FAR_APART = 1.2
"""Values nearer to each other than this, as a ratio, are not worth three pieces."""


def rating_for(value: float, close: float) -> float:
    """Return the next preferred number of which a value uses less than counts as close."""
    return step_up(value / close, R10)


def rounded(value: float, *, up: bool) -> float:
    """Round to three digits, up or down, so that rounding undoes no promise."""
    if value <= 0:
        return 0.0
    scale = 10.0 ** (math.floor(math.log10(value)) - 2)
    whole = math.ceil(value / scale - _ROUNDING) if up else math.floor(value / scale + _ROUNDING)
    return float(f"{whole * scale:.6g}")


def minimum_below(value: float) -> float | None:
    """Return the largest usual minimum of a variable capacitor that is not above a value [F]; None below all."""
    fitting = [minimum for minimum in MINIMA if minimum <= value * (1 + _ROUNDING)]
    return max(fitting, default=None)


def tidy(value: float) -> float:
    """Round to a value somebody would wind: 0.05 steps below twice a power of ten, else 0.1 steps."""
    scale = 10.0 ** math.floor(math.log10(value))
    step = 0.05 if value / scale < 2 else 0.1
    return float(f"{round(value / scale / step) * step * scale:.6g}")


def stocked(stock: Sequence[float]) -> list[tuple[float, ...]]:
    """Return what a stock makes: each piece alone, then in pairs and threes."""
    return [*((value,) for value in dict.fromkeys(stock)), *in_parallel(tuple(stock))]


@lru_cache(maxsize=16)
def in_parallel(stock: tuple[float, ...]) -> tuple[tuple[float, ...], ...]:
    """Return pairs and threes of a stock whose sums fill its gaps and go beyond its largest, pairs first."""
    known = sorted(set(stock))
    found: list[tuple[float, ...]] = []
    for pieces, apart in ((2, _APART), (3, _FAR_APART)):
        some = itertools.combinations_with_replacement(sorted(set(stock), reverse=True), pieces)
        for one in sorted(some, key=sum):
            place = bisect.bisect_left(known, sum(one))
            near = known[max(place - 1, 0) : place + 1]
            if all(max(sum(one), value) / min(sum(one), value) >= apart for value in near):
                known.insert(place, sum(one))
                found.append(one)
    return tuple(found)
