"""Round conductors at high frequency: resistivity with temperature, skin depth, resistance of the surface.

Everything takes and returns SI floats or arrays and broadcasts.
"""

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Metal = Literal["copper", "aluminium", "silver"]

VACUUM_PERMEABILITY = 4e-7 * np.pi
"""mu0 [H/m]; the value before 2019, exact to 2e-10."""

RESISTIVITY_20C: dict[Metal, float] = {"copper": 17.241e-9, "aluminium": 28.264e-9, "silver": 15.87e-9}
"""Resistivity at 20 degC [ohm m]: annealed copper (IACS); conductor aluminium, 61 % IACS, and silver (memory)."""

TEMPERATURE_COEFFICIENT_20C: dict[Metal, float] = {"copper": 0.00393, "aluminium": 0.00403, "silver": 0.0038}
"""Temperature coefficient at 20 degC [1/K]: copper IACS; the others from memory."""

THIN_WALL_SKIN_DEPTHS = 2.0
"""A tube wall below this many skin depths deserves a warning (common practice: two to three)."""

THINNEST_CONDUCTOR = 5.0
"""Conductor diameter in skin depths below which the current is no longer at its surface alone."""


def resistivity(metal: Metal, temperature: ArrayLike) -> NDArray[np.float64]:
    """Compute the resistivity of a metal at a temperature.

    Parameters
    ----------
    metal : {"copper", "aluminium", "silver"}
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
    """Compute the depth at which the current density has fallen to 1/e.

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


def skin_effect_ratio(conductor_diameter: ArrayLike, skin_depth: ArrayLike) -> NDArray[np.float64]:
    """Compute AC over DC resistance of a straight, solid, round wire far from others.

    Parameters
    ----------
    conductor_diameter : array_like
        [m], above 0.
    skin_depth : array_like
        [m], above 0.

    Returns
    -------
    ndarray
        Dimensionless, at least 1: the real part of ``(ka/2) J0(ka) / J1(ka)``, k = (1 - j) / depth. Exact
        for any size of wire; the same field equation as the tables of NBS Circular 74. A tube with a wall
        of three skin depths or more behaves as solid.
    """
    from scipy.special import jve

    argument = (0.5 - 0.5j) * np.asarray(conductor_diameter, dtype=float) / np.asarray(skin_depth)
    # The exponential scaling of jve is the same for both orders, so it cancels and nothing overflows.
    return np.asarray((0.5 * argument * jve(0, argument) / jve(1, argument)).real)


def surface_resistance(
    conductor_diameter: ArrayLike, resistivity: ArrayLike, frequency: ArrayLike
) -> NDArray[np.float64]:
    """Compute the resistance of a square of a round wire's surface.

    Parameters
    ----------
    conductor_diameter : array_like
        [m].
    resistivity : array_like
        [ohm m].
    frequency : array_like
        [Hz].

    Returns
    -------
    ndarray
        [ohm], broadcast. ``rho / depth`` times what the bend of the surface adds, so that a straight wire
        of length l has exactly ``l / (pi d)`` of it: 1 % more than the flat surface where the diameter is
        100 skin depths, 20 % at five.
    """
    diameter = np.asarray(conductor_diameter, dtype=float)
    ratio = skin_effect_ratio(diameter, skin_depth(resistivity, frequency))
    return np.asarray(4.0 * np.asarray(resistivity) / diameter * ratio)
