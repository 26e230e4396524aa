"""Loss of a straight round conductor: resistivity with temperature, skin depth, exact skin effect.

Everything takes and returns SI floats or arrays and broadcasts.
"""

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Metal = Literal["copper", "aluminium"]

VACUUM_PERMEABILITY = 4e-7 * np.pi
"""mu0 [H/m]; the value before 2019, exact to 2e-10."""

RESISTIVITY_20C: dict[Metal, float] = {"copper": 17.241e-9, "aluminium": 28.264e-9}
"""Resistivity at 20 degC [ohm m]: annealed copper (IACS); conductor aluminium, 61 % IACS (memory)."""

TEMPERATURE_COEFFICIENT_20C: dict[Metal, float] = {"copper": 0.00393, "aluminium": 0.00403}
"""Temperature coefficient at 20 degC [1/K]: copper IACS; aluminium from memory."""

THIN_WALL_SKIN_DEPTHS = 2.0
"""A tube wall below this many skin depths deserves a warning (common practice: two to three)."""


def resistivity(metal: Metal, temperature: ArrayLike) -> NDArray[np.float64]:
    """Give the resistivity of a metal at a temperature.

    Parameters
    ----------
    metal : {"copper", "aluminium"}
        Silver plate counts as copper.
    temperature : array_like
        [degC]. Linear law; good from about -50 to 200 degC.

    Returns
    -------
    ndarray
        [ohm m], the shape of `temperature`. ``rho20 (1 + alpha20 (T - 20))``.
    """
    rise = np.asarray(temperature, dtype=float) - 20.0
    return np.asarray(RESISTIVITY_20C[metal] * (1.0 + TEMPERATURE_COEFFICIENT_20C[metal] * rise))


def skin_depth(resistivity: ArrayLike, frequency: ArrayLike) -> NDArray[np.float64]:
    """Give the depth at which the current density has fallen to 1/e.

    Parameters
    ----------
    resistivity : array_like
        [ohm m].
    frequency : array_like
        [Hz], above 0.

    Returns
    -------
    ndarray
        [m], ``sqrt(rho / (pi f mu0))``, broadcast.
    """
    return np.asarray(
        np.sqrt(np.asarray(resistivity, dtype=float) / (np.pi * np.asarray(frequency) * VACUUM_PERMEABILITY))
    )


def _impedance_ratio(radius_in_skin_depths: ArrayLike) -> NDArray[np.complex128]:
    """Give the internal impedance of a round wire over its DC resistance: ``(ka/2) J0(ka) / J1(ka)``."""
    from scipy.special import jve

    argument = (1.0 - 1.0j) * np.asarray(radius_in_skin_depths, dtype=float)
    # The exponential scaling of jve is the same for both orders, so it cancels and nothing overflows.
    return np.asarray(0.5 * argument * jve(0, argument) / jve(1, argument))


def skin_effect_ratio(conductor_diameter: ArrayLike, skin_depth: ArrayLike) -> NDArray[np.float64]:
    """Give AC over DC resistance of a straight, solid, round wire far from others.

    Parameters
    ----------
    conductor_diameter : array_like
        [m], above 0.
    skin_depth : array_like
        [m], above 0.

    Returns
    -------
    ndarray
        Dimensionless, at least 1. Exact (Bessel functions) for any size of wire; the same field equation
        as the tables of NBS Circular 74. A tube with a wall of three skin depths or more behaves as solid.
    """
    size = np.asarray(conductor_diameter, dtype=float) / (2.0 * np.asarray(skin_depth, dtype=float))
    return np.asarray(_impedance_ratio(size).real)


def internal_inductance_ratio(conductor_diameter: ArrayLike, skin_depth: ArrayLike) -> NDArray[np.float64]:
    """Give the internal inductance of a round wire over its value at DC (mu0 / 8 pi per metre).

    Parameters
    ----------
    conductor_diameter, skin_depth : array_like
        [m], above 0.

    Returns
    -------
    ndarray
        Dimensionless, from 1 (DC) down to 0; 2 delta / r at high frequency.
    """
    size = np.asarray(conductor_diameter, dtype=float) / (2.0 * np.asarray(skin_depth, dtype=float))
    # Below this the imaginary part drowns in rounding, and the ratio is 1 - size^4 / 96.
    held = np.maximum(size, 1e-3)
    return np.asarray(4.0 * _impedance_ratio(held).imag / held**2)


def wire_resistance(
    length: ArrayLike, conductor_diameter: ArrayLike, resistivity: ArrayLike, frequency: ArrayLike
) -> NDArray[np.float64]:
    """Give the resistance of a straight round wire at a frequency, skin effect included.

    Parameters
    ----------
    length, conductor_diameter : array_like
        [m].
    resistivity : array_like
        [ohm m].
    frequency : array_like
        [Hz].

    Returns
    -------
    ndarray
        [ohm], broadcast. Without proximity effect.
    """
    diameter = np.asarray(conductor_diameter, dtype=float)
    ratio = skin_effect_ratio(diameter, skin_depth(resistivity, frequency))
    at_dc = np.asarray(resistivity) * np.asarray(length) / (0.25 * np.pi * diameter**2)
    return np.asarray(at_dc * ratio)


def tube_wall_factor(wall: ArrayLike, skin_depth: ArrayLike) -> NDArray[np.float64]:
    """Give the resistance of a tube over that of the same tube with a thick wall.

    Parameters
    ----------
    wall, skin_depth : array_like
        [m], above 0.

    Returns
    -------
    ndarray
        Dimensionless. Derived: a plane sheet of thickness w fed from one face has the surface impedance
        ``(1+j)/(sigma delta) coth((1+j) w/delta)``; its real part over ``1/(sigma delta)``. Holds while the
        wall is small against the tube's diameter. 1.086 at one skin depth, 0.949 at two, 1.003 at three.
    """
    # Above 20 skin depths the ratio is 1 to 1e-17 and the hyperbolic functions are only a way to overflow.
    twice = 2.0 * np.minimum(np.asarray(wall, dtype=float) / np.asarray(skin_depth, dtype=float), 20.0)
    return np.asarray((np.sinh(twice) + np.sin(twice)) / (np.cosh(twice) - np.cos(twice)))


def tube_wall_is_thin(wall: ArrayLike, skin_depth: ArrayLike) -> NDArray[np.bool_]:
    """Tell where a tube wall is thinner than two skin depths, so that a warning is due.

    Parameters
    ----------
    wall, skin_depth : array_like
        [m].

    Returns
    -------
    ndarray of bool
    """
    return np.asarray(np.asarray(wall, dtype=float) < THIN_WALL_SKIN_DEPTHS * np.asarray(skin_depth))
