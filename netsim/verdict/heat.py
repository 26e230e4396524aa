"""How warm a surface gets that sheds heat into still air: free convection and radiation, with the spread.

The spread is wide, and meant: nobody knows the draught in a cabinet or how tarnished a wire is.
"""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.air import air_at

ZERO_CELSIUS = 273.15
AMBIENT_CELSIUS = 40.0
"""Air inside a cabinet (common practice)."""

BRIGHT, TARNISHED = 0.05, 0.6
"""Emissivity of polished and of oxidised copper (from memory: tables of heat-transfer handbooks)."""

_HOTTEST_KELVIN = 5e3
_LEAST_RISE = 1e-6


@dataclass(frozen=True)
class HeatedSolenoid:
    """A part of a solenoid that is heated evenly. Lengths in [m].

    Attributes
    ----------
    conductor_diameter, wire_length : float
        Of the wire or tube.
    outer_diameter, length : float
        Of the winding over its conductor.
    """

    conductor_diameter: float
    wire_length: float
    outer_diameter: float
    length: float


@dataclass(frozen=True)
class SurfaceTemperature:
    """An estimate [degC]: coolest, middle and hottest that the assumptions allow."""

    low: float
    middle: float
    high: float


def surface_temperature(
    loss: float, solenoid: HeatedSolenoid, ambient: float = AMBIENT_CELSIUS
) -> SurfaceTemperature:
    """Estimate the surface temperature of a part of a solenoid in still air.

    Parameters
    ----------
    loss : float
        Mean heat [W].
    solenoid : HeatedSolenoid
    ambient : float
        Of the air around [degC].

    Returns
    -------
    SurfaceTemperature
        Low: every turn sheds heat as if alone, tarnished, by the correlation that cools most. High: only the
        outside of the whole winding does, bright, by the one that cools least. The middle has the geometric
        mean of the two rises.

    Notes
    -----
    Long horizontal cylinder in free convection (Morgan; Churchill and Chu; Kuehn and Goldstein), air of the
    standard atmosphere at the film temperature, grey radiation to walls at the air's temperature. A coil
    that stands upright, or close to a wall, is warmer; one in a fan's draught much cooler.
    """
    if loss <= 0.0:
        return SurfaceTemperature(ambient, ambient, ambient)
    turns = solenoid.conductor_diameter, solenoid.wire_length
    envelope = solenoid.outer_diameter, solenoid.length
    low = _balance(loss, *turns, TARNISHED, ambient, coolest=True)
    high = max(low, _balance(loss, *envelope, BRIGHT, ambient, coolest=False))
    middle = ambient + float(np.sqrt((low - ambient) * (high - ambient)))
    return SurfaceTemperature(low, middle, high)


def cylinder_heat(
    diameter: float, length: float, surface: float, ambient: float, emissivity: float, *, coolest: bool
) -> float:
    """Give the heat [W] that a horizontal cylinder [m] at a surface temperature sheds; both in [K].

    Notes
    -----
    ``(Nu k / D + eps sigma (T^4 - Ta^4) / (T - Ta)) pi D l (T - Ta)``; `coolest` takes the largest of the
    correlations for Nu, else the smallest.
    """
    # 70 ms, and only for a coil whose winding is known.
    import ht
    from scipy.constants import Stefan_Boltzmann

    air = air_at((surface + ambient) / 2)
    prandtl, grashof = air.prandtl, air.buoyancy * (surface - ambient) * diameter**3
    choose = max if coolest else min
    methods = ht.conv_free_immersed.Nu_horizontal_cylinder_methods(prandtl, grashof)
    nusselt = choose(
        ht.conv_free_immersed.Nu_horizontal_cylinder(prandtl, grashof, method) for method in methods
    )
    area = np.pi * diameter * length
    radiated = emissivity * Stefan_Boltzmann * (surface**4 - ambient**4)
    return float(area * (nusselt * air.conductivity / diameter * (surface - ambient) + radiated))


def _balance(
    loss: float, diameter: float, length: float, emissivity: float, ambient: float, *, coolest: bool
) -> float:
    """Surface temperature [degC] at which the heat shed is the loss; capped where metal is long gone."""
    from scipy.optimize import brentq

    air = ambient + ZERO_CELSIUS

    def surplus(log_rise: float) -> float:
        """Of logarithms, which are nearly a straight line."""
        surface = air + np.exp(log_rise)
        return float(
            np.log(cylinder_heat(diameter, length, surface, air, emissivity, coolest=coolest) / loss)
        )

    least, most = np.log(_LEAST_RISE), np.log(_HOTTEST_KELVIN - air)
    if surplus(most) < 0.0:
        return _HOTTEST_KELVIN - ZERO_CELSIUS
    if surplus(least) > 0.0:
        return ambient  # a microwatt, such as in a loop far from the turns in use
    return ambient + float(np.exp(brentq(surplus, least, most, xtol=1e-6)))
