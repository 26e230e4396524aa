"""What every part carries: peak voltages, rms currents and losses, over all orders."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    ComplexArray,
    DampedInductor,
    FloatArray,
    Inductor,
    Resistor,
    Termination,
)
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.stage import Stage
from netsim.solvers.solution import Solution
from netsim.verdict.placement import across, placements

SAMPLES = 512
"""Of one period, for peaks of waveforms."""


@dataclass(frozen=True)
class Stress:
    """Of one part, in every network; arrays of shape ``(networks,)``.

    Attributes
    ----------
    present : ndarray of bool
        Whether the network has the part at all.
    voltage_peak, rf_voltage_peak, unloaded_voltage_peak : ndarray
        [V], with DC, without, and with the antenna off.
    current_rms, loss, reactive_power : ndarray
        [A], [W], [VA]; reactive power is NaN for what is not a capacitor.
    """

    present: npt.NDArray[np.bool_]
    voltage_peak: FloatArray
    rf_voltage_peak: FloatArray
    unloaded_voltage_peak: FloatArray
    current_rms: FloatArray
    loss: FloatArray
    reactive_power: FloatArray


def stresses(
    parts: Parts,
    stage: Stage,
    scale: FloatArray,
    ladder: Ladder,
    loaded: Solution,
    unloaded: Solution,
    samples: int = SAMPLES,
) -> Mapping[str, Stress]:
    """Work out what every part carries.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    stage : Stage
        Gives the plate-current spectrum and the supply.
    scale : ndarray
        Voltage limit's factor on all plate currents, shape ``(networks,)``.
    ladder : Ladder
        As solved with the antenna on.
    loaded : Solution
        For 1 A at orders 1 to 10.
    unloaded : Solution
        For 1 A at order 1, antenna off, tune capacitor re-dipped.
    samples : int
        Of one period, for peaks.

    Returns
    -------
    mapping of str to Stress
        By part name; the band switch is in `band_switch`.

    Notes
    -----
    The plate current flows out of the network into the tube, so a phasor for 1 A sent in is multiplied
    by ``-s I_n``. Peaks are the largest magnitude over one period of the sum of all orders with their
    phases. Antenna off: the plate swings by the whole supply voltage, fundamental only.
    """
    drive = -scale[:, np.newaxis] * stage.current_peak
    swing = stage.supply_voltage / np.abs(unloaded.plate_impedance)
    found = {}
    for name, place in placements(parts).items():
        branch = ladder[place.branch]
        direct = stage.supply_voltage if place.holds_supply else 0.0
        voltage = across(branch, loaded) * drive
        current = loaded.branch_current[place.branch] * drive
        mean_square = (np.abs(current) ** 2).sum(axis=1) / 2
        if place.carries_plate_current:
            mean_square = mean_square + (scale * stage.direct_current) ** 2
        swing_peak = peak(voltage, 0.0, samples)
        found[name] = Stress(
            present=presence(branch, len(parts)),
            voltage_peak=peak(voltage, direct, samples) if direct else swing_peak,
            rf_voltage_peak=swing_peak,
            unloaded_voltage_peak=direct + np.abs(across(branch, unloaded) * swing)[:, 0],
            current_rms=np.sqrt(mean_square),
            loss=heat(branch, current, voltage, loaded.orders),
            reactive_power=reactive_power_of(branch, current, ladder.frequency, loaded.orders),
        )
    return found


def stored_energy_q(ladder: Ladder, solution: Solution) -> FloatArray:
    """Give the loaded Q by stored energy: all inductances and capacitances, at the fundamental.

    Parameters
    ----------
    ladder : Ladder
        Of ``networks`` networks.
    solution : Solution
        For 1 A, its first order being the fundamental.

    Returns
    -------
    ndarray
        ``w (sum L|I|^2/4 + C|V|^2/4) / (Re(Z_P)/2)``, shape ``(networks,)``.

    Notes
    -----
    For a lossless pi at match this is Q1 + Q2, for a pi-L Q1 + Q2 + Q3: the later handbooks' figure.
    """
    omega = 2 * np.pi * ladder.frequency
    reactive = np.zeros(len(ladder))
    for branch in ladder.branches:
        square = np.abs(solution.branch_current[branch.name][:, 0]) ** 2
        match branch.element:
            case Capacitor(capacitance=capacitance):
                reactive = reactive + _divide(square, omega * capacitance)
            case Inductor(inductance=inductance):
                present = np.isfinite(inductance)
                reactive = reactive + np.where(present, square * omega * np.where(present, inductance, 0), 0)
            case DampedInductor(inductance=inductance):
                voltage = np.abs(across(branch, solution)[:, 0])
                reactive = reactive + voltage**2 / (omega * inductance)
            case Resistor() | Termination():
                pass
    return np.asarray(reactive / 4 / (np.real(solution.plate_impedance[:, 0]) / 2))


def presence(branch: Branch, networks: int) -> npt.NDArray[np.bool_]:
    """Tell in which networks a branch is more than an open circuit."""
    match branch.element:
        case Capacitor(capacitance=capacitance):
            present = capacitance > 0
        case Inductor(inductance=inductance):
            present = np.isfinite(inductance)
        case _:
            present = np.asarray(True)
    return np.broadcast_to(present, (networks,))


def peak(phasors: ComplexArray, direct: float, samples: int = SAMPLES) -> FloatArray:
    """Give the largest magnitude over a period of DC plus the sum of all orders, shape ``(networks,)``.

    Parameters
    ----------
    phasors : ndarray
        Complex peak values of orders 1 to n, shape ``(networks, n)``.
    direct : float
        DC, in the unit of the phasors.
    samples : int
        How many a period; 512 meet a peak of the tenth order within 2e-3 of its own height.
    """
    # By Fourier synthesis: a product of matrices would be split over threads, which takes longer than the work.
    spectrum = np.zeros((len(phasors), samples // 2 + 1), dtype=np.complex128)
    spectrum[:, 1 : phasors.shape[1] + 1] = phasors
    wave = np.fft.irfft(spectrum, samples) * (samples / 2)
    return np.asarray(np.maximum(direct + wave.max(axis=1), -direct - wave.min(axis=1)))


def heat(branch: Branch, current: ComplexArray, voltage: ComplexArray, orders: FloatArray) -> FloatArray:
    """Give the heat in a part's resistance, all orders together [W]."""
    match branch.element:
        case Inductor() as coil:
            power = np.abs(current) ** 2 * coil.resistance_at(orders) / 2
        case DampedInductor(resistance=resistance):
            power = np.abs(voltage) ** 2 / (2 * np.asarray(resistance)[..., np.newaxis])
        case Capacitor(resistance=resistance) | Resistor(resistance=resistance):
            power = np.abs(current) ** 2 * np.asarray(resistance)[..., np.newaxis] / 2
        case Termination():
            power = np.abs(current) ** 2 * branch.element.impedance_at(orders).real / 2
    return np.asarray(power.sum(axis=1))


def reactive_power_of(
    branch: Branch, current: ComplexArray, frequency: FloatArray, orders: FloatArray
) -> FloatArray:
    """Add up ``|I|^2 / (2 w C)`` over the orders [VA]; NaN for what is not a capacitor."""
    match branch.element:
        case Capacitor(capacitance=capacitance):
            omega = 2 * np.pi * frequency[:, np.newaxis] * orders
            susceptance = omega * np.asarray(capacitance)[..., np.newaxis]
            return np.asarray(_divide(np.abs(current) ** 2 / 2, susceptance).sum(axis=1))
    return np.full(len(frequency), np.nan)


def _divide(value: FloatArray, by: FloatArray) -> FloatArray:
    """Divide, with zero where there is nothing to divide by."""
    by = np.broadcast_to(by, value.shape)
    return np.divide(value, by, out=np.zeros_like(value), where=by > 0)
