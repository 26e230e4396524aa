"""Preferred numbers: series of IEC 60063 and ISO 3, the next of one, of resistors one or two in parallel."""

import bisect
import math
from dataclasses import dataclass

import numpy as np

R10 = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
"""Series of ISO 3: ratings are asked for in these steps."""

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
"""Series for 10 % parts."""

E24 = (
    *(1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0),
    *(3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1),
)
"""Series for 5 % parts; not the rounded powers of ten throughout, so it is written out."""

E96 = tuple(round(10 ** (step / 96), 2) for step in range(96))
"""Series for 1 % parts: 96th parts of a decade, rounded to three digits as the standard has them."""

_ROUNDING = 1e-9
_DECADES = 2
_NEAR = 1e-3  # a single value this near needs no second


@dataclass(frozen=True)
class Fitting:
    """What comes nearest to a resistance.

    Attributes
    ----------
    values : tuple of float
        One resistor, or two in parallel [ohm].
    resistance : float
        Of both together [ohm].
    error : float
        Relative to what was wanted.
    """

    values: tuple[float, ...]
    resistance: float
    error: float


def nearest(wanted: float, series: tuple[float, ...]) -> float:
    """Return the preferred value nearest to a resistance by ratio [ohm].

    Parameters
    ----------
    wanted : float
        Above 0 [ohm].
    series : tuple of float
        From 1 to below 10, such as `E24`.
    """
    decade = 10.0 ** math.floor(math.log10(wanted))
    around = np.array([series[-1] / 10, *series, 10.0]) * decade
    return _digits(float(around[np.argmin(np.abs(np.log(around / wanted)))]))


def around(wanted: float, series: tuple[float, ...]) -> tuple[float, ...]:
    """Return the preferred values next below and next above a value, and the one beyond each."""
    decade = 10.0 ** math.floor(math.log10(wanted))
    values = [_digits(scale * decade * value) for scale in (0.1, 1.0, 10.0) for value in series]
    place = int(np.searchsorted(values, wanted))
    return tuple(values[place - 2 : place + 2])


def fitting(wanted: float, series: tuple[float, ...]) -> Fitting:
    """Return one preferred value, or two in parallel where they come nearer.

    Parameters
    ----------
    wanted : float
        Above 0 [ohm].
    series : tuple of float
        As in `nearest`.

    Returns
    -------
    Fitting
        A single value wherever it is within 0.1 %.

    Notes
    -----
    Of two in parallel the smaller is at most twice what is wanted, so two decades hold all pairs that matter.
    """
    single = nearest(wanted, series)
    error = single / wanted - 1
    if abs(error) <= _NEAR:
        return Fitting((single,), single, error)
    decade = 10.0 ** math.floor(math.log10(wanted))
    values = decade * np.outer(10.0 ** np.arange(_DECADES), series).ravel()
    values = values[values >= wanted]
    together = 1 / (1 / values[:, np.newaxis] + 1 / values)
    place = np.argmin(np.abs(together / wanted - 1))
    one, other = (_digits(float(values[k])) for k in np.unravel_index(place, together.shape))
    pair = 1 / (1 / one + 1 / other)
    if abs(pair / wanted - 1) >= abs(error):
        return Fitting((single,), single, error)
    return Fitting((min(one, other), max(one, other)), pair, pair / wanted - 1)


def step_up(value: float, series: tuple[float, ...]) -> float:
    """Return the first preferred number that is not below a value."""
    decade = 10.0 ** math.floor(math.log10(value) + _ROUNDING)
    for number in (*series, 10.0, 10.0 * series[1]):
        step = _digits(number * decade)
        if step >= value:
            return step
    raise AssertionError("a decade above every mantissa")


def step_down(value: float, series: tuple[float, ...]) -> float:
    """Return the last preferred number that is not above a value."""
    decade = 10.0 ** math.floor(math.log10(value) + _ROUNDING)
    place = bisect.bisect_right(series, value / decade * (1 + _ROUNDING))
    return _digits(series[place - 1] * decade)


def _digits(value: float) -> float:
    return float(f"{value:.6g}")
