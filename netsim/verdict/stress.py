"""What every part carries: peak voltages, rms currents and losses, over all orders."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    ComplexArray,
    DampedInductor,
    FloatArray,
    IndexArray,
    Inductor,
    Resistor,
    Termination,
)
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.stage import PlateCurrent
from netsim.circuit.tuning import BoolArray
from netsim.solvers.solution import Solution

SAMPLES = 512
"""Of one period, for peaks of waveforms: they meet a peak of the tenth order within 2e-3 of its own height."""

_WAVES = 4096
"""Waveforms computed at a time, which take some 40 MB."""


@dataclass(frozen=True)
class Stress:
    """Of one part, in every network; arrays of shape ``(networks,)``.

    Attributes
    ----------
    present : ndarray of bool
        Whether the network has the part at all.
    voltage_peak, rf_voltage_peak, unloaded_voltage_peak : ndarray
        [V], with DC, without, and with the antenna off; the last NaN where that was not solved.
    current_rms, loss, reactive_power : ndarray
        [A], [W], [VA]; reactive power is NaN for what is not a capacitor.
    """

    present: BoolArray
    voltage_peak: FloatArray
    rf_voltage_peak: FloatArray
    unloaded_voltage_peak: FloatArray
    current_rms: FloatArray
    loss: FloatArray
    reactive_power: FloatArray


@dataclass(frozen=True)
class Unloaded:
    """Networks with the antenna off and the tune capacitor dipped again.

    Attributes
    ----------
    solution : Solution
        For 1 A into the plate, orders 1 to k.
    drive : ndarray
        Complex current that is sent into the plate [A peak], shape ``(networks, k)``.
    """

    solution: Solution
    drive: ComplexArray

    @classmethod
    def swinging(
        cls, solution: Solution, supply: FloatArray, fundamental: FloatArray, plate_load: FloatArray
    ) -> "Unloaded":
        """Let the plate swing as far as supply and tube can make it.

        Parameters
        ----------
        solution : Solution
            With the plate load across the plate.
        supply, fundamental, plate_load : ndarray
            DC [V], peak plate current of order 1 [A] and plate load [ohm], shape ``(networks,)``.

        Returns
        -------
        Unloaded
            The plate at the smaller of the supply and ``I_1 |Z_P|``, Z_P without the plate load across it.
        """
        seen = solution.plate_impedance[:, 0]
        with np.errstate(divide="ignore"):  # a dip without losses leaves no admittance
            swing = np.minimum(supply, np.abs(fundamental / (1 / seen - 1 / plate_load)))
        return cls(solution, (swing / np.abs(seen)).astype(np.complex128)[:, np.newaxis])


def stresses(
    parts: Parts,
    supply: FloatArray,
    current: PlateCurrent,
    ladder: Ladder,
    loaded: Solution,
    unloaded: Unloaded | None = None,
    *,
    samples: int = SAMPLES,
    loads: int = 1,
    peaks: Collection[str] | None = None,
) -> Mapping[str, Stress]:
    """Compute what every part carries.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    supply : ndarray
        DC that stands behind the plate choke [V], shape ``(networks,)``.
    current : PlateCurrent
        What flows into the tube.
    ladder : Ladder
        As solved with the antenna on.
    loaded : Solution
        For 1 A at orders 1 to 10.
    unloaded : Unloaded, optional
        Antenna off.
    samples : int
        Of one period, for peaks.
    loads : int
        How many successive networks are one network on several loads, of which only the worst peak is wanted:
        the peaks of those that cannot be it are NaN.
    peaks : collection of str, optional
        The parts whose peak voltages are wanted, DC included; the others' are NaN. All, and without DC, by default.

    Returns
    -------
    mapping of str to Stress
        By part name; the band switch is in `band_switch`.

    Notes
    -----
    A phasor for 1 A sent in is multiplied by minus the plate current, which flows out of the network. Peaks are
    the largest magnitude over one period of the sum of all orders with their phases.
    """
    found = {}
    for name, place in placements(parts).items():
        branch = ladder[place.branch]
        direct = supply if place.holds_supply else np.zeros(len(parts))
        voltage = across(branch, loaded) * current.drive
        phasors = loaded.branch_current[place.branch] * current.drive
        mean_square = (phasors.real**2 + phasors.imag**2).sum(axis=1) / 2
        if place.carries_plate_current:
            mean_square = mean_square + current.direct**2
        if peaks is None:
            possible = _can_be_highest(voltage, loads)
            rf_peak = _peaks(voltage, np.zeros(len(parts)), samples, possible)
            whole = _peaks(voltage, direct, samples, possible) if place.holds_supply else rf_peak
        else:
            rf_peak = np.full(len(parts), np.nan)
            whole = quick_peak(voltage, direct) if name in peaks else rf_peak
        if unloaded is None or (peaks is not None and name not in peaks):
            off = np.full(len(parts), np.nan)
        else:
            off = _highest(across(branch, unloaded.solution) * unloaded.drive, direct, samples)
        found[name] = Stress(
            present=presence(branch, len(parts)),
            voltage_peak=whole,
            rf_voltage_peak=rf_peak,
            unloaded_voltage_peak=off,
            current_rms=np.sqrt(mean_square),
            loss=heat(branch, phasors, voltage, loaded.orders),
            reactive_power=reactive_power_of(branch, phasors, ladder.frequency, loaded.orders),
        )
    return found


def _highest(voltage: ComplexArray, direct: FloatArray, samples: int) -> FloatArray:
    """Return the peak of a wave on a DC; of a fundamental alone its amplitude and the DC."""
    return direct + np.abs(voltage[:, 0]) if voltage.shape[1] == 1 else peak(voltage, direct, samples)


def _can_be_highest(voltage: ComplexArray, loads: int) -> BoolArray:
    """Tell which networks can have the highest peak of their group.

    A wave's peak lies between the fundamental's less and plus the sum of all harmonics', so most loads are
    ruled out without computing a wave.
    """
    if loads == 1:
        return np.ones(len(voltage), dtype=np.bool_)
    size = np.abs(voltage)
    harmonics = size[:, 1:].sum(axis=1)
    least, most = (end.reshape(-1, loads) for end in (size[:, 0] - harmonics, size[:, 0] + harmonics))
    return np.asarray(most >= least.max(axis=1, keepdims=True)).ravel()


def _peaks(voltage: ComplexArray, direct: FloatArray, samples: int, possible: BoolArray) -> FloatArray:
    found = np.full(len(voltage), np.nan)
    found[possible] = peak(voltage[possible], direct[possible], samples)
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
        ``w (sum L|I|^2/4 + C|V|^2/4) / (Re(Z_P)/2)``, shape ``(networks,)``; leads and self-capacitances are
        among them, and coupled coils add ``M Re(I1 conj(I2))/2``.

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
    for pair in ladder.couplings:
        one, other = (solution.branch_current[name][:, 0] for name in (pair.one, pair.other))
        reactive = reactive + 2 * omega * ladder.mutual_inductance(pair) * np.real(one * np.conj(other))
    return np.asarray(reactive / 4 / (np.real(solution.plate_impedance[:, 0]) / 2))


def presence(branch: Branch, networks: int) -> BoolArray:
    """Tell in which networks a branch is more than an open circuit."""
    match branch.element:
        case Capacitor(capacitance=capacitance):
            present = capacitance > 0
        case Inductor(inductance=inductance):
            present = np.isfinite(inductance)
        case _:
            present = np.asarray(True)
    return np.broadcast_to(present, (networks,))


def peak(phasors: ComplexArray, direct: FloatArray, samples: int = SAMPLES) -> FloatArray:
    """Give the largest magnitude over a period of DC plus the sum of all orders, shape ``(networks,)``.

    Parameters
    ----------
    phasors : ndarray
        Complex peak values of orders 1 to n, shape ``(networks, n)``.
    direct : ndarray
        DC, in the unit of the phasors, shape ``(networks,)``.
    samples : int
        How many a period; 512 meet a peak of the tenth order within 2e-3 of its own height.
    """
    # By Fourier synthesis: a product of matrices would be split over threads, which takes longer than the work.
    highest = np.empty(len(phasors))
    for start in range(0, len(phasors), _WAVES):
        some = slice(start, start + _WAVES)
        spectrum = np.zeros((len(highest[some]), samples // 2 + 1), dtype=np.complex128)
        spectrum[:, 1 : phasors.shape[1] + 1] = phasors[some]
        wave = np.fft.irfft(spectrum, samples) * (samples / 2)
        highest[some] = np.maximum(direct[some] + wave.max(axis=1), -direct[some] - wave.min(axis=1))
    return highest


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


def quick_peak(phasors: ComplexArray, direct: FloatArray) -> FloatArray:
    """Give what `peak` gives, for very many networks: from 32 samples, sharpened by the wave's own curvature.

    Parameters
    ----------
    phasors, direct : ndarray
        As of `peak`.

    Notes
    -----
    One step of Newton's method from the highest sample and from the lowest, on the sum of the orders itself. True
    to 1e-3 where the fundamental rules.
    """
    count = 32
    order = np.arange(1, phasors.shape[1] + 1)
    spectrum = np.zeros((len(phasors), count // 2 + 1), dtype=np.complex128)
    spectrum[:, 1 : phasors.shape[1] + 1] = phasors
    wave = np.fft.irfft(spectrum, count) * (count / 2)
    turns = np.exp(2j * np.pi / count * np.outer(np.arange(count), order))

    def height(place: IndexArray) -> FloatArray:
        terms = phasors * turns[place]
        slope, bend = -terms.imag @ order, -terms.real @ order**2
        return np.asarray(
            terms.real.sum(axis=1) - np.where(bend != 0, slope**2 / (2 * np.where(bend != 0, bend, 1)), 0)
        )

    high, low = height(wave.argmax(axis=1)), height(wave.argmin(axis=1))
    return np.asarray(
        np.maximum(direct + np.maximum(high, wave.max(axis=1)), np.maximum(-low, -wave.min(axis=1)) - direct)
    )


@dataclass(frozen=True)
class Placement:
    """Where a part's voltage and current are found in the ladder.

    Attributes
    ----------
    branch : str
        The branch that is the part. Of the plate choke it is the winding: its wire is what a current
        rating speaks of, and what flows in the self-capacitance does not heat it.
    carries_plate_current : bool
        Whether the DC plate current flows in it.
    holds_supply : bool
        Whether the plate supply stands across it.
    """

    branch: str
    carries_plate_current: bool = False
    holds_supply: bool = False


def placements(parts: Parts) -> dict[str, Placement]:
    """Give every part that the ladder holds, by name.

    Without a blocking capacitor the plate supply stands on everything behind it that leads to ground.
    """
    behind = not parts.has_blocking_capacitor
    table = {
        "suppressor": Placement("suppressor", carries_plate_current=True),
        "plate_choke": Placement("plate_choke", carries_plate_current=True, holds_supply=True),
        "blocking_capacitor": Placement("blocking_capacitor", holds_supply=True),
        "tune_capacitor": Placement("tune_capacitor", holds_supply=behind),
        "tune_padding": Placement("tune_padding", holds_supply=behind),
        "coil": Placement("coil"),
        "load_capacitor": Placement("load_capacitor", holds_supply=behind),
        "load_padding": Placement("load_padding", holds_supply=behind),
        "output_coil": Placement("output_coil"),
        "output_choke": Placement("output_choke", holds_supply=behind),
    }
    absent = set()
    if not parts.has_suppressor:
        absent.add("suppressor")
    if not parts.has_blocking_capacitor:
        absent.add("blocking_capacitor")
    if parts.topology != "pi-L":
        absent.add("output_coil")
    return {name: place for name, place in table.items() if name not in absent}


def across(branch: Branch, solution: Solution) -> ComplexArray:
    """Give the complex voltage across a branch for 1 A into the plate, shape ``(networks, orders)``."""
    far = 0 if branch.to is None else solution.node_voltage[branch.to]
    return np.asarray(solution.node_voltage[branch.node] - far)
