"""How warm a surface gets that sheds heat into still air: free convection and radiation, with the spread.

The spread is wide, and meant: nobody knows the draught in a cabinet or how tarnished a wire is.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from netsim.circuit.air import air_at
from netsim.circuit.elements import FloatArray

ZERO_CELSIUS = 273.15
AMBIENT_CELSIUS = 40.0
"""Air inside a cabinet (common practice)."""

BRIGHT, TARNISHED = 0.05, 0.6
"""Emissivity of polished and of oxidised copper (from memory: tables of heat-transfer handbooks)."""

_HOTTEST_KELVIN = 5e3
_LEAST_RISE, _STEPS = 0.01, 100


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
    log_rise, log_heat = _heat_curve(diameter, emissivity, ambient, coolest)
    # Below a hundredth of a kelvin, such as in a loop far from the turns in use, there is no rise.
    rise = np.exp(np.interp(np.log(loss / length), log_heat, log_rise, left=-np.inf))
    return ambient + float(rise)


@lru_cache(maxsize=64)
def _heat_curve(
    diameter: float, emissivity: float, ambient: float, coolest: bool
) -> tuple[FloatArray, FloatArray]:
    """Logarithms of rise [K] and of the heat per length [W/m]: so nearly straight that steps of 14 % do to 1e-3."""
    air = ambient + ZERO_CELSIUS
    rise = np.geomspace(_LEAST_RISE, _HOTTEST_KELVIN - air, _STEPS)
    heat = [cylinder_heat(diameter, 1.0, air + step, air, emissivity, coolest=coolest) for step in rise]
    return np.log(rise), np.log(heat)
