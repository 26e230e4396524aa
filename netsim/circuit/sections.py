"""The network at its working frequency, cut open at the two variable capacitors.

Everything that is fixed is folded into a few complex numbers per network; the settings stay as the two
real unknowns. Plate voltage and plate current are then bilinear in the settings, which is what makes
tuning, peaking and dipping closed-form.
"""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import Capacitor, ComplexArray, FloatArray, Inductor
from netsim.circuit.parts import Parts

_Chain = tuple[ComplexArray, ComplexArray, ComplexArray, ComplexArray]


@dataclass(frozen=True)
class Bilinear:
    """``(m00 + m01 C2) + (m10 + m11 C2) C1`` with C1 the tune and C2 the load setting [F].

    Attributes
    ----------
    coefficients : ndarray
        Complex, shape ``(2, 2, networks)``: by degree in the tune setting, then in the load setting.
    """

    coefficients: ComplexArray

    def at(self, tune: FloatArray, load: FloatArray) -> ComplexArray:
        """Evaluate at settings of shape ``(..., networks)``."""
        offset, slope = self.along_tune(load)
        return np.asarray(offset + slope * tune)

    def along_load(self, tune: FloatArray) -> ComplexArray:
        """Give offset and slope in the load setting at given tune settings, shape ``(2, ..., networks)``."""
        (m00, m01), (m10, m11) = self.coefficients
        return np.stack([m00 + m10 * tune, m01 + m11 * tune])

    def along_tune(self, load: FloatArray) -> ComplexArray:
        """Give offset and slope in the tune setting at given load settings, shape ``(2, ..., networks)``."""
        (m00, m01), (m10, m11) = self.coefficients
        return np.stack([m00 + m01 * load, m10 + m11 * load])


@dataclass(frozen=True)
class Sections:
    """A network at its working frequency as functions of its two settings.

    All three are taken with respect to one quantity that never vanishes with them, so that they stay bilinear
    where a lead brings its capacitor near series resonance; only their ratios mean something.

    Attributes
    ----------
    plate_voltage, plate_current, antenna_current : Bilinear
        The last is zero where the antenna is off.
    """

    plate_voltage: Bilinear
    plate_current: Bilinear
    antenna_current: Bilinear

    def plate_impedance(self, tune: FloatArray, load: FloatArray) -> ComplexArray:
        """Compute what the plate sees [ohm] at settings of shape ``(networks,)``."""
        return self.plate_voltage.at(tune, load) / self.plate_current.at(tune, load)


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

    Notes
    -----
    A variable capacitor C has the admittance ``g C`` with its loss, and ``g C / (1 + z g C)`` behind a lead of
    impedance z. Everything is taken per volt across the load capacitor's plates and multiplied by the tune
    capacitor's ``1 + z g C``: what is then left is of first degree in either setting. Derived.
    """
    omega = 2 * np.pi * parts.frequency
    tank = _tank(parts, omega, antenna_connected=antenna_connected)
    tune, load = (
        _unit_admittance(quality, omega) for quality in (np.asarray(parts.tune_q), np.asarray(parts.load_q))
    )
    tune_lead, load_lead = 1j * omega * parts.tune_lead, 1j * omega * parts.load_lead
    tune_fixed, load_fixed = (
        _capacitor_admittance(Capacitor.of_quality(padding, quality, parts.frequency), omega)
        + 1j * omega * stray
        for padding, quality, stray in (
            (parts.tune_padding, parts.tune_padding_q, parts.tune_stray),
            (parts.load_padding, parts.load_padding_q, parts.load_stray),
        )
    )
    # Offset and slope in the load setting: voltage at the coil's output, current into the capacitors there.
    output = np.stack(np.broadcast_arrays(1 + 0j, load_lead * load))
    drawn = load_fixed * output + np.stack(np.broadcast_arrays(0j, load))
    at_tank = tank.a * output + tank.b * drawn
    into_coil = tank.c * output + tank.d * drawn + tune_fixed * at_tank
    antenna = (tank.from_tank * at_tank + tank.from_output * output) * tank.antenna_admittance
    voltage = _by_degree(at_tank, at_tank * tune_lead * tune)
    current = _by_degree(into_coil, (into_coil * tune_lead + at_tank) * tune)
    a, b, c, d = _plate_side(parts, omega)
    return Sections(
        plate_voltage=Bilinear(a * voltage + b * current),
        plate_current=Bilinear(c * voltage + d * current),
        antenna_current=Bilinear(_by_degree(antenna, antenna * tune_lead * tune)),
    )


def _by_degree(constant: ComplexArray, tune: ComplexArray) -> ComplexArray:
    """Stack what is free of the tune setting and what goes with it, each by degree in the load setting."""
    return np.stack(np.broadcast_arrays(constant, tune))


def _plate_side(parts: Parts, omega: FloatArray) -> _Chain:
    """Chain matrix from the plate to the tank."""
    one, nothing = np.ones(len(parts), dtype=np.complex128), np.zeros(len(parts), dtype=np.complex128)
    chain = (one, nothing, nothing, one)
    chain = _after_shunt(chain, np.asarray(1j * omega * parts.output_capacitance))
    reactance = omega * parts.suppressor_inductance
    suppressor = 1j * reactance / (1 + 1j * reactance / parts.suppressor_resistance)
    chain = _after_series(chain, suppressor + 1j * omega * parts.plate_lead)
    choke = _choke_admittance(parts.plate_choke, parts.plate_choke_q, omega)
    chain = _after_shunt(chain, choke + 1j * omega * parts.plate_choke_capacitance)
    # By its impedance: where there is none, the capacitance is infinite.
    blocking = (1 / parts.blocking_q - 1j) / (omega * parts.blocking_capacitance)
    return _after_series(chain, blocking + 1j * omega * parts.blocking_lead)


@dataclass(frozen=True)
class _Tank:
    """From the tank capacitor's node past the coil, all that follows it but the load capacitors folded in.

    Attributes
    ----------
    a, b, c, d : ndarray
        Chain matrix from the tank to the load capacitors.
    from_tank, from_output : ndarray
        Antenna terminal's voltage per volt at the tank and at the coil's output.
    antenna_admittance : ndarray
        Of the antenna alone [S]; zero where it is off.
    """

    a: ComplexArray
    b: ComplexArray
    c: ComplexArray
    d: ComplexArray
    from_tank: ComplexArray
    from_output: ComplexArray
    antenna_admittance: ComplexArray


def _tank(parts: Parts, omega: FloatArray, *, antenna_connected: bool) -> _Tank:
    """Fold coil, output coil, output choke and antenna.

    Notes
    -----
    Of the windings' impedance matrix Z, with ``Z12 = jw k sqrt(L1 L2)``, the inverse and the self-capacitances
    make admittances Y between the drops u across the coil and w across the output coil: ``Y11 u + Y12 w`` flows
    in at the tank, ``Y12 u + Y22 w`` into the antenna terminal's admittance. Eliminating that terminal leaves a
    chain matrix. Derived.
    """
    antenna = (
        np.asarray(1 / parts.antenna_impedance + 0j) if antenna_connected else np.zeros(1, dtype=complex)
    )
    antenna = np.broadcast_to(antenna, omega.shape)
    terminal = antenna + _choke_admittance(parts.output_choke, parts.output_choke_q, omega)
    one, nothing = np.ones_like(terminal), np.zeros_like(terminal)
    z1 = _winding_impedance(parts.coil, parts.coil_q, parts.frequency)
    if parts.topology == "pi":
        z1 = z1 / (1 + z1 * 1j * omega * parts.coil_capacitance)
        return _Tank(1 + z1 * terminal, z1, terminal, one, nothing, one, antenna)
    z2 = _winding_impedance(parts.output_coil, parts.output_coil_q, parts.frequency)
    shared = 1j * omega * parts.coupling * np.sqrt(parts.coil * parts.output_coil)
    pair = z1 * z2 - shared**2
    y11 = z2 / pair + 1j * omega * parts.coil_capacitance
    y22 = z1 / pair + 1j * omega * parts.output_coil_capacitance
    y12 = -shared / pair
    from_tank, from_output = y12 / (y22 + terminal), (y22 - y12) / (y22 + terminal)
    near = y11 - y12 * from_tank
    far = y11 - y12 * (terminal + y12) / (y22 + terminal)
    a = 1 + terminal * from_output / far
    return _Tank(a, 1 / far, near * a - far, near / far, from_tank, from_output, antenna)


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
        capacitance, the choke's self-capacitance, stray, padding and setting, this last one as its lead makes
        it appear: ``C / (1 - w^2 L C)``.

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
        + tune / (1 - omega**2 * parts.tune_lead * tune)
    )
    return np.asarray(parts.plate_load * (omega * capacitance - 1 / (omega * parts.plate_choke)))


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


def _winding_impedance(inductance: FloatArray, quality: FloatArray, frequency: FloatArray) -> ComplexArray:
    part = Inductor.of_quality(inductance, quality, frequency)
    return np.asarray(part.resistance + 2j * np.pi * frequency * part.inductance)


def _choke_admittance(inductance: FloatArray, quality: FloatArray, omega: FloatArray) -> ComplexArray:
    """Admittance of a lossy inductor; an infinite one has none."""
    return np.asarray(1 / (omega * inductance) / (1 / quality + 1j))
