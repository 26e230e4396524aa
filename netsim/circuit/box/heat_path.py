"""The way of the plate's heat to the air: resistances in a row, temperatures, and what an insulator adds in farads."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Literal

import numpy as np

from netsim.circuit.air import air_at
from netsim.circuit.box.materials import MATERIALS, VACUUM_PERMITTIVITY, Span
from netsim.circuit.elements import FloatArray

End = Literal["low", "usual", "high"]

_ZERO_CELSIUS = 273.15
_FIN_METAL = "aluminium 6063"
_RISES = np.geomspace(1e-2, 500.0, 160)
"""Rises of a sink above the air [K] between which heat and rise are interpolated by their logarithms."""
_BEYOND = 0.8  # power of the heat with which a rise beyond them grows: that of laminar convection


@dataclass(frozen=True)
class HeatItem:
    """One piece on the way, as the file has it: by its resistance, by material and size, or by fins. SI units.

    ``electrical`` tells that it insulates the plate voltage, ``adds_to_output_capacitance`` that its capacitance
    stands from plate to chassis. Where limits are sampled, numbers are arrays of shape ``(rows,)``; of fins, and
    of the air around them, their mean counts then.
    """

    name: str
    thermal_resistance: float | None = None
    material: str | None = None
    conductivity: float | None = None
    thickness: float | None = None
    area: float | None = None
    electrical: bool = False
    permittivity: float | None = None
    adds_to_output_capacitance: bool = False
    fins: float | None = None
    fin_height: float | None = None
    fin_length: float | None = None
    fin_thickness: float | None = None
    fin_gap: float | None = None

    def rise(self, heat: FloatArray, ambient: float, end: End = "usual") -> FloatArray:
        """Return how much warmer its hot side is than its cold side [K].

        Parameters
        ----------
        heat : ndarray
            That passes through [W], any shape.
        ambient : float
            Air around fins [degC].
        end : {"low", "usual", "high"}
            Of the material's range of conductivity; "low" gives the largest rise.

        Notes
        -----
        ``P R``, and ``P t / (k A)`` for a plate; edges, spreading and joints are items of their own.
        """
        if self.fins is not None:
            return _sink_rise(self, ambient, heat)
        return np.asarray(heat * self._resistance(end))

    def resistance(self, heat: float, ambient: float) -> float:
        """Return the thermal resistance at a heat [K/W]; of fins it falls as they get warmer."""
        passing = heat if heat > 0 else 1.0
        return float(self.rise(np.array(passing), ambient)) / passing

    @property
    def capacitance(self) -> float | None:
        """Capacitance of an insulator, ``eps0 eps_r A / t`` without edges [F]; None if too little is known."""
        permittivity = self.permittivity
        if permittivity is None and self.material is not None:
            span = MATERIALS[self.material].permittivity
            permittivity = None if span is None else span.usual
        if not self.electrical or permittivity is None or self.area is None or self.thickness is None:
            return None
        return VACUUM_PERMITTIVITY * permittivity * self.area / self.thickness

    def _resistance(self, end: End) -> float:
        if self.thermal_resistance is not None:
            return self.thermal_resistance
        given = self.conductivity
        span = MATERIALS[self.material or ""].conductivity if given is None else Span(given, given, given)
        assert self.thickness is not None  # by the rules of the file
        assert self.area is not None
        conductivity: float = getattr(span, end)
        return self.thickness / (conductivity * self.area)


def insulator_capacitance(items: Sequence[HeatItem]) -> float | None:
    """Return the capacitance of what insulates the plate, several in series [F]; None where it is not known."""
    values = [item.capacitance for item in items if item.electrical]
    known = [value for value in values if value is not None]
    return 1 / sum(1 / value for value in known) if known and len(known) == len(values) else None


def added_capacitance(items: Sequence[HeatItem]) -> float:
    """Return what the insulators add from plate to chassis [F]: that of all in series, where any is to count."""
    if not any(item.adds_to_output_capacitance for item in items):
        return 0.0
    found = insulator_capacitance(items)
    return 0.0 if found is None else found


def joints(items: Sequence[HeatItem], heat: FloatArray, ambient: float, end: End = "usual") -> FloatArray:
    """Return the temperature of each item's hot side, from the anode outwards.

    Parameters
    ----------
    items : sequence of HeatItem
        From the anode outwards.
    heat : ndarray
        That passes through all of them [W], shape ``(rows,)``.
    ambient : float
        [degC].
    end : {"low", "usual", "high"}
        Of the materials' conductivities.

    Returns
    -------
    ndarray
        [degC], shape ``(rows, items)``.

    Notes
    -----
    In a row: each joint is the air plus all rises outwards of it (a sum from the end, hence the reversals).
    """
    rises = np.stack([item.rise(heat, ambient, end) for item in items], axis=-1)
    return np.asarray(np.asarray(ambient)[..., np.newaxis] + np.cumsum(rises[..., ::-1], axis=-1)[..., ::-1])


@dataclass(frozen=True)
class Warming:
    """From one steady temperature towards another.

    Attributes
    ----------
    steady : float
        Where it ends [degC].
    to_limit : float or None
        From idle until the limit [s]; None if it is never reached, or the heat capacity is not known.
    back : float or None
        From the limit until nine tenths of the way back to idle [s]; None likewise.
    """

    steady: float
    to_limit: float | None
    back: float | None


def warming(
    idle: float, steady: float, limit: float, resistance: float, heat_capacity: float | None
) -> Warming:
    """Compute how long a tube with all of its heat in one piece takes to its limit, and back.

    Parameters
    ----------
    idle, steady, limit : float
        Temperatures of the anode at idle, after long key-down, and the most it may have [degC].
    resistance : float
        Of the whole way at the heat of key-down [K/W].
    heat_capacity : float or None
        Of the tube and what is fixed to it, up to the first item [J/K].

    Notes
    -----
    ``T = T_end + (T_start - T_end) exp(-t / (R C))`` (derived: one capacity, one resistance). The pieces further
    out warm up as well, so that the first key-down lasts longer than this and later ones come near it.
    """
    if heat_capacity is None:
        return Warming(steady, None, None)
    time = resistance * heat_capacity
    to_limit = None
    if steady > limit:
        to_limit = 0.0 if idle >= limit else float(time * np.log((steady - idle) / (steady - limit)))
    back = float(time * np.log(10.0)) if to_limit and idle < limit else None
    return Warming(steady, to_limit, back)


@lru_cache(maxsize=64)
def _sink_heat(item: HeatItem, ambient: float) -> FloatArray:
    """Heat that a finned sink sheds at each of the rises [W].

    Both sides of every fin, upright in still air, all at the base's temperature less what the fin's efficiency
    ``tanh(m H) / (m H)``, ``m = sqrt(2 h / (k t))`` takes. h is that of a single plate (Churchill and Chu 1975, as
    ``ht`` has it) or, where less, that of a channel between plates: ``Nu = (576 / x^2 + 2.873 / sqrt x)^(-1/2)``
    with ``x = Ra s / L``, s the gap (Bar-Cohen and Rohsenow 1984 after Elenbaas 1942; from memory). The base
    between the fins counts as fin; radiation is left out, which a painted sink has and a bright one has not.
    """
    import ht

    assert item.fins is not None  # all five by the rules of the file
    assert item.fin_height is not None
    assert item.fin_length is not None
    assert item.fin_thickness is not None
    assert item.fin_gap is not None
    area = 2 * item.fins * item.fin_height * item.fin_length
    base = max(item.fins - 1, 0.0) * item.fin_gap * item.fin_length
    metal = MATERIALS[_FIN_METAL].conductivity.usual
    heat = []
    for rise in _RISES:  # of a table, not of samples
        air = air_at(ambient + _ZERO_CELSIUS + float(rise) / 2)
        grashof = air.buoyancy * float(rise)
        plate = ht.conv_free_immersed.Nu_vertical_plate_Churchill(air.prandtl, grashof * item.fin_length**3)
        x = air.prandtl * grashof * item.fin_gap**4 / item.fin_length
        channel = (576 / x**2 + 2.873 / np.sqrt(x)) ** -0.5
        transfer = air.conductivity * min(plate / item.fin_length, channel / item.fin_gap)
        steep = item.fin_height * np.sqrt(2 * transfer / (metal * item.fin_thickness))
        heat.append(transfer * rise * (area * np.tanh(steep) / steep + base))
    return np.array(heat)


def _sink_rise(item: HeatItem, ambient: float, heat: FloatArray) -> FloatArray:
    means: dict[str, Any] = {
        key: float(np.mean(value)) for key, value in vars(item).items() if key.startswith("fin")
    }
    shed = _sink_heat(replace(item, **means), float(np.mean(ambient)))
    with np.errstate(divide="ignore"):
        wanted = np.log(np.asarray(heat, dtype=np.float64))
    beyond = np.log(_RISES[-1]) + (wanted - np.log(shed[-1])) * _BEYOND
    within = np.interp(wanted, np.log(shed), np.log(_RISES))
    return np.where(np.asarray(heat) > 0, np.exp(np.where(wanted > np.log(shed[-1]), beyond, within)), 0.0)
