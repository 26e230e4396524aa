"""Peak voltage of an air-spaced capacitor from its gap: the handbooks' practice, not a maker's rating."""

import numpy as np

from netsim.circuit.elements import FloatArray

INCH = 25.4e-3
GAPS = np.array([0.047, 0.077, 0.177]) * INCH
"""[m]; with `VOLTS`, gaps of variable capacitors and the peak voltages they are used for, handbook of 1947."""

VOLTS = np.array([1500.0, 3000.0, 6000.0])

_LAPSE, _SEA_LEVEL, _EXPONENT = 6.5e-3, 288.15, 4.2559


def air_density_ratio(altitude: FloatArray | float) -> FloatArray:
    """Give the density of air over that at sea level.

    Parameters
    ----------
    altitude : array_like
        [m], below 11 km.

    Notes
    -----
    Standard atmosphere (ISO 2533), troposphere: ``(1 - 6.5e-3 h / 288.15)^4.2559``. 0.8638 at 1500 m.
    """
    return np.asarray((1.0 - _LAPSE * altitude / _SEA_LEVEL) ** _EXPONENT)


def gap_voltage(gap: FloatArray | float, altitude: FloatArray | float = 0.0) -> FloatArray:
    """Give the peak voltage that handbook practice allows an air gap.

    Parameters
    ----------
    gap : array_like
        [m].
    altitude : array_like
        Of the station [m].

    Returns
    -------
    ndarray
        [V peak]. Straight lines between the handbook's three gaps; below the first in proportion to the gap,
        above the last with the slope between the last two. In proportion to the density of the air, which
        is how breakdown goes at such gaps (Paschen's law to the right of its minimum).
    """
    gap = np.asarray(gap, dtype=np.float64)
    slope = (VOLTS[-1] - VOLTS[-2]) / (GAPS[-1] - GAPS[-2])
    inside = np.interp(gap, GAPS, VOLTS)
    below, above = VOLTS[0] * gap / GAPS[0], VOLTS[-1] + slope * (gap - GAPS[-1])
    volts = np.where(gap < GAPS[0], below, np.where(gap > GAPS[-1], above, inside))
    return np.asarray(volts * air_density_ratio(altitude))


def gap_is_listed(gap: float) -> bool:
    """Tell whether a gap [m] lies within the handbook's table."""
    return bool(GAPS[0] <= gap <= GAPS[-1])
