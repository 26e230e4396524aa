"""Still air at a film temperature: what free convection is worked out with."""

from dataclasses import dataclass

_MOLAR_MASS = 0.0289647  # [kg/mol], US Standard Atmosphere 1976
_PRESSURE = 101325.0
_HEAT_CAPACITY = 1006.0  # [J/(kg K)]


@dataclass(frozen=True)
class Air:
    """Properties of air at sea level.

    Attributes
    ----------
    conductivity : float
        [W/(m K)].
    prandtl : float
        Prandtl number.
    buoyancy : float
        Grashof number over cube of length and rise: ``g / T (density / viscosity)^2`` [1/(m^3 K)].
    """

    conductivity: float
    prandtl: float
    buoyancy: float


def air_at(film: float) -> Air:
    """Return the properties of air at a film temperature [K].

    Notes
    -----
    Conductivity and viscosity of the standard atmosphere of 1976 (``fluids.atmosphere``), an ideal gas.
    """
    # 70 ms, and only where something is cooled by air.
    from fluids.atmosphere import ATMOSPHERE_1976 as STANDARD
    from scipy.constants import R, g

    conductivity, viscosity = STANDARD.thermal_conductivity(film), STANDARD.viscosity(film)
    density = _PRESSURE * _MOLAR_MASS / (R * film)
    return Air(
        float(conductivity),
        float(_HEAT_CAPACITY * viscosity / conductivity),
        float(g / film * (density / viscosity) ** 2),
    )
