"""Values that parts come in: what a proposal is rounded to, so that it can be had."""

import bisect
import math

RENARD = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
"""Preferred numbers, series R10 of ISO 3: ratings are asked for in these steps."""

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
"""Preferred numbers of IEC 60063: inductances of small coils are asked for in these."""

MINIMA = tuple(p * 1e-12 for p in (3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50))
"""Least capacitance of variable capacitors [F]: vacuum ones from 3 pF, air ones from 8 pF (common practice)."""

HIGHEST_RATING = 4.0
"""A part whose rating would have to be this many times the present one is another amplifier's."""

_ROUNDING = 1e-9


def step_up(value: float, series: tuple[float, ...] = RENARD) -> float:
    """Give the first preferred number that is not below a value."""
    decade = 10.0 ** math.floor(math.log10(value) + _ROUNDING)
    for number in (*series, 10.0):
        if number * decade >= value * (1 - _ROUNDING):
            return float(f"{number * decade:.6g}")
    raise AssertionError("a decade above every mantissa")


def step_down(value: float, series: tuple[float, ...] = E12) -> float:
    """Give the last preferred number that is not above a value."""
    decade = 10.0 ** math.floor(math.log10(value) + _ROUNDING)
    place = bisect.bisect_right(series, value / decade * (1 + _ROUNDING))
    return float(f"{series[place - 1] * decade:.6g}")


def minimum_below(value: float) -> float | None:
    """Give the largest usual minimum of a variable capacitor that is not above a value [F]; None below all."""
    fitting = [minimum for minimum in MINIMA if minimum <= value * (1 + _ROUNDING)]
    return max(fitting, default=None)
