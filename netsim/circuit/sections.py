"""The network at its working frequency, cut open at the two variable capacitors.

Everything that is fixed is folded into a few complex numbers per network; the settings stay as the two
real unknowns. Plate voltage and plate current are then bilinear in the settings, which is what makes
tuning, peaking and dipping closed-form.
"""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import Capacitor, ComplexArray, FloatArray, Inductor
from netsim.circuit.parts import Parts


@dataclass(frozen=True)
class Bilinear:
    """``c + t C1 + l C2 + tl C1 C2`` with C1 the tune and C2 the load setting [F].

    Attributes
    ----------
    constant, tune, load, both : ndarray
        Complex coefficients, shape ``(networks,)``.
    """

    constant: ComplexArray
    tune: ComplexArray
    load: ComplexArray
    both: ComplexArray

    def at(self, tune: FloatArray, load: FloatArray) -> ComplexArray:
        """Evaluate at settings of shape ``(networks,)``."""
        return self.constant + self.tune * tune + (self.load + self.both * tune) * load

    def along_load(self, tune: FloatArray) -> tuple[ComplexArray, ComplexArray]:
        """Give offset and slope in the load setting at a given tune setting."""
        return self.constant + self.tune * tune, self.load + self.both * tune

    def along_tune(self, load: FloatArray) -> tuple[ComplexArray, ComplexArray]:
        """Give offset and slope in the tune setting at a given load setting."""
        return self.constant + self.load * load, self.tune + self.both * load


@dataclass(frozen=True)
class Sections:
    """Fixed parts of a network at its working frequency; all of shape ``(networks,)``.

    Attributes
    ----------
    a, b, c, d : ndarray
        Chain matrix from the plate to the tank input: output capacitance, suppressor, plate choke,
        blocking capacitor.
    tank_admittance : ndarray
        Fixed admittance at the tank input: stray and padding [S].
    coil_impedance : ndarray
        [ohm].
    output_admittance : ndarray
        Fixed admittance at the coil's output: stray, padding and all that follows [S].
    tune_slope, load_slope : ndarray
        Admittance of the variable capacitors per farad, losses included [S/F].
    output_to_antenna : ndarray
        Antenna current per volt at the coil's output [S].
    """

    a: ComplexArray
    b: ComplexArray
    c: ComplexArray
    d: ComplexArray
    tank_admittance: ComplexArray
    coil_impedance: ComplexArray
    output_admittance: ComplexArray
    tune_slope: ComplexArray
    load_slope: ComplexArray
    output_to_antenna: ComplexArray

    @property
    def plate_current(self) -> Bilinear:
        """Plate current per volt at the coil's output [S]."""
        return self._chain(self.c, self.d)

    @property
    def plate_voltage(self) -> Bilinear:
        """Plate voltage per volt at the coil's output."""
        return self._chain(self.a, self.b)

    def _chain(self, per_volt: ComplexArray, per_ampere: ComplexArray) -> Bilinear:
        ratio, ratio_slope = (
            1 + self.coil_impedance * self.output_admittance,
            self.coil_impedance * self.load_slope,
        )
        into_tank = self.tank_admittance * ratio + self.output_admittance
        into_tank_slope = self.tank_admittance * ratio_slope + self.load_slope
        return Bilinear(
            constant=per_volt * ratio + per_ampere * into_tank,
            tune=per_ampere * self.tune_slope * ratio,
            load=per_volt * ratio_slope + per_ampere * into_tank_slope,
            both=per_ampere * self.tune_slope * ratio_slope,
        )

    def tank_admittance_wanted(self, plate_load: FloatArray) -> ComplexArray:
        """Give the admittance at the tank input [S] that makes the plate see `plate_load` [ohm]."""
        return (plate_load * self.c - self.a) / (self.b - plate_load * self.d)


def cut_open(parts: Parts, *, antenna_connected: bool = True) -> Sections:
    """Fold the fixed parts of each network together at its working frequency.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    antenna_connected : bool
        False leaves the antenna terminal open.

    Returns
    -------
    Sections
        For the closed forms of tuning, peaking and dipping.
    """
    omega = 2 * np.pi * parts.frequency
    one, nothing = np.ones(len(parts), dtype=np.complex128), np.zeros(len(parts), dtype=np.complex128)

    def capacitor(value: FloatArray, quality: FloatArray) -> ComplexArray:
        return _capacitor_admittance(Capacitor.of_quality(value, quality, parts.frequency), omega)

    def coil(value: FloatArray, quality: FloatArray) -> ComplexArray:
        part = Inductor.of_quality(value, quality, parts.frequency)
        return part.resistance + 1j * omega * part.inductance

    chain = (one, nothing, nothing, one)
    chain = _after_shunt(chain, np.asarray(1j * omega * parts.output_capacitance))
    if parts.has_suppressor:
        reactance = omega * parts.suppressor_inductance
        chain = _after_series(chain, 1j * reactance / (1 + 1j * reactance / parts.suppressor_resistance))
    choke = _choke_admittance(parts.plate_choke, parts.plate_choke_q, omega)
    chain = _after_shunt(chain, choke + 1j * omega * parts.plate_choke_capacitance)
    if parts.has_blocking_capacitor:
        chain = _after_series(chain, 1 / capacitor(parts.blocking_capacitance, parts.blocking_q))

    at_antenna = _choke_admittance(parts.output_choke, parts.output_choke_q, omega)
    if antenna_connected:
        at_antenna = at_antenna + 1 / parts.antenna_impedance
    division = 1 + coil(parts.output_coil, parts.output_coil_q) * at_antenna
    tune_unit, load_unit = (_unit_admittance(q, omega) for q in (parts.tune_q, parts.load_q))
    return Sections(
        *chain,
        tank_admittance=capacitor(parts.tune_padding, parts.tune_padding_q) + 1j * omega * parts.tune_stray,
        coil_impedance=coil(parts.coil, parts.coil_q),
        output_admittance=capacitor(parts.load_padding, parts.load_padding_q)
        + 1j * omega * parts.load_stray
        + at_antenna / division,
        tune_slope=tune_unit,
        load_slope=load_unit,
        output_to_antenna=1 / (division * parts.antenna_impedance) if antenna_connected else nothing,
    )


def loaded_q(parts: Parts, tune: FloatArray) -> FloatArray:
    """Give the loaded Q: plate load times the net susceptance on the plate side of the coil.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    tune : ndarray
        Setting of the tune capacitor [F], shape ``(networks,)``.

    Returns
    -------
    ndarray
        ``R_L (w C_sum - 1 / (w L_choke))``, shape ``(networks,)``, where C_sum is the tube's output
        capacitance, the choke's self-capacitance, stray, padding and setting.

    Notes
    -----
    The handbooks' figure of old, R/X, of the plate side alone; the stored-energy figure counts the load
    side as well. Suppressor and blocking capacitor are left out, and the parts' losses: with a Q of q
    their true susceptance is smaller by 1/q^2.
    """
    omega = 2 * np.pi * parts.frequency
    capacitance = (
        parts.output_capacitance
        + parts.plate_choke_capacitance
        + parts.tune_stray
        + parts.tune_padding
        + tune
    )
    return np.asarray(parts.plate_load * (omega * capacitance - 1 / (omega * parts.plate_choke)))


_Chain = tuple[ComplexArray, ComplexArray, ComplexArray, ComplexArray]


def _after_series(chain: _Chain, impedance: ComplexArray) -> _Chain:
    a, b, c, d = chain
    return a, b + a * impedance, c, d + c * impedance


def _after_shunt(chain: _Chain, admittance: ComplexArray) -> _Chain:
    a, b, c, d = chain
    return a + b * admittance, b, c + d * admittance, d


def _capacitor_admittance(part: Capacitor, omega: FloatArray) -> ComplexArray:
    susceptance = omega * part.capacitance
    return np.asarray(1j * susceptance / (1 + 1j * susceptance * part.resistance))


def _unit_admittance(quality: FloatArray, omega: FloatArray) -> ComplexArray:
    """Admittance per farad: with a series resistance of X/q it is proportional to the capacitance."""
    return np.asarray(1j * omega / (1 + 1j / quality))


def _choke_admittance(inductance: FloatArray, quality: FloatArray, omega: FloatArray) -> ComplexArray:
    """Admittance of a lossy inductor; an infinite one has none."""
    return np.asarray(1 / (omega * inductance) / (1 / quality + 1j))
