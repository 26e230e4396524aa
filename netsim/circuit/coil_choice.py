"""Which coil would do: scans over the coil with everything else held."""

from dataclasses import dataclass, replace

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import match

_SCAN = 800
_SPAN = 8.0
_BLOCK = 32
"""Networks scanned at a time: some 50 MB."""


@dataclass(frozen=True)
class CoilRange:
    """Coils that let both capacitors find a match within their ranges.

    Attributes
    ----------
    low, high : ndarray
        Ends of the stretch nearest to the present coil [H], shape ``(networks,)``; NaN where no coil
        from an eighth to eight times the present one does. Read off a geometric scan in steps of 0.5 %.
    """

    low: FloatArray
    high: FloatArray


def _scan(parts: Parts) -> tuple[Parts, FloatArray]:
    """Repeat the networks over a grid of coils; flattened, grid first."""
    n = len(parts)
    factor = np.geomspace(1 / _SPAN, _SPAN, _SCAN)
    repeated = parts.take(np.tile(np.arange(n), _SCAN))
    return replace(repeated, coil=repeated.coil * np.repeat(factor, n)), factor


def coils_in_range(parts: Parts) -> CoilRange:
    """Find the coils that tune with these capacitors.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.

    Returns
    -------
    CoilRange
        Nearest stretch of coils.
    """
    ends = [_nearest_stretch(parts.take(rows)) for rows in parts.blocks(_BLOCK)]
    return CoilRange(*np.concatenate(ends, axis=-1))


def _nearest_stretch(parts: Parts) -> FloatArray:
    n = len(parts)
    scanned, factor = _scan(parts)
    good = match(scanned).within(scanned).any(axis=0).reshape(_SCAN, n)
    distance = np.where(good, np.abs(np.log(factor))[:, np.newaxis], np.inf)
    nearest = np.argmin(distance, axis=0)
    steps, columns = np.arange(_SCAN)[:, np.newaxis], np.arange(n)
    gaps_below = np.where(~good & (steps < nearest), steps, -1).max(axis=0)
    gaps_above = np.where(~good & (steps > nearest), steps, _SCAN).min(axis=0)
    some = good[nearest, columns]
    low = np.where(some, parts.coil * factor[np.minimum(gaps_below + 1, _SCAN - 1)], np.nan)
    high = np.where(some, parts.coil * factor[np.maximum(gaps_above - 1, 0)], np.nan)
    return np.stack([low, high])


def coil_for_loaded_q(parts: Parts, wanted: FloatArray | float) -> FloatArray:
    """Find the coil at which the match has a given loaded Q, whatever the capacitors' ranges.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    wanted : array_like
        Loaded Q (plate load times net susceptance), broadcastable to ``(networks,)``.

    Returns
    -------
    ndarray
        [H], shape ``(networks,)``; NaN where the scan never crosses it.

    Notes
    -----
    The loaded Q of the match with more load capacitance falls as the coil grows; the crossing is
    interpolated in the logarithms between scan points 0.5 % apart.
    """
    every = np.broadcast_to(np.asarray(wanted, dtype=float), (len(parts),))
    return np.concatenate([_crossing(parts.take(rows), every[rows]) for rows in parts.blocks(_BLOCK)])


def _crossing(parts: Parts, wanted: FloatArray) -> FloatArray:
    n = len(parts)
    scanned, factor = _scan(parts)
    q = loaded_q(scanned, match(scanned).tune[0]).reshape(_SCAN, n)
    with np.errstate(invalid="ignore"):
        above = q > wanted
        crossing = above[:-1] & (q[1:] <= wanted)
    place = np.argmax(crossing, axis=0)
    columns = np.arange(n)
    with np.errstate(invalid="ignore", divide="ignore"):
        upper, lower = np.log(q[place, columns]), np.log(q[place + 1, columns])
        share = (upper - np.log(wanted)) / (upper - lower)
        coil = parts.coil * np.exp(np.log(factor[place]) + share * np.log(factor[1] / factor[0]))
    return np.where(crossing.any(axis=0), coil, np.nan)
