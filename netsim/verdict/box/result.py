"""The box in the result. SI floats, degrees Celsius; None for what is not known or does not exist."""

from dataclasses import dataclass, field

STOP_ABOVE = 1.1
"""Reading over its step at which a first power-up stops: meters and curves are no better (common practice)."""


@dataclass(frozen=True)
class ZenerResult:
    """What holds a constant voltage in the cathode's lead, at full output."""

    volt: float
    ampere: float
    watt: float


@dataclass(frozen=True)
class CathodeResistorResult:
    """A resistor in the cathode's lead: value, heat at full output, and the bias and plate current at idle."""

    ohm: float
    watt: float
    idle_bias_volt: float
    idle_current_ampere: float
    idle_dissipation_watt: float


@dataclass(frozen=True)
class PowerUpStep:
    """One step of the first power-up; ``fraction`` is of the mains, and so of the no-load voltage, or of full drive."""

    fraction: float
    plate_volt: float
    plate_current_ampere: float
    grid_current_ampere: float | None
    dissipation_watt: float
    output_watt: float
    shows: dict[str, float]


@dataclass(frozen=True)
class PowerUpResult:
    """Supply up in steps without drive, then drive; where to stop, by name.

    The ratings, None where not given; of the plate current, which has none, a tenth above its highest step.
    """

    band: str
    supply: tuple[PowerUpStep, ...]
    drive: tuple[PowerUpStep, ...]
    stop: dict[str, float | None]


@dataclass(frozen=True)
class BiasResult:
    """The bias and ways to make it.

    Idle is without drive at ``idle_plate_volt``: where tube and supply agree, or, without a [supply],
    no_load_plate_voltage, or plate_voltage where that is not given. ``no_load_idle`` is at the voltage without load.
    ``zener`` and ``cathode_resistor`` are None where the bias is not negative.
    """

    bias_volt: float
    idle_current_ampere: float
    idle_dissipation_watt: float
    cathode_current_ampere: float
    zener: ZenerResult | None
    cathode_resistor: CathodeResistorResult | None
    no_load_idle_current_ampere: float
    no_load_idle_dissipation_watt: float
    power_up: PowerUpResult
    idle_plate_volt: float


@dataclass(frozen=True)
class InputPartStress:
    """Peak voltage and rms current of one part of the input network."""

    voltage_peak_volt: float
    current_rms_ampere: float


@dataclass(frozen=True)
class InputResult:
    """The drive at one frequency.

    ``drive_watt`` goes into the tube and its swamping resistor; ``input_watt`` into the network;
    ``exciter_watt`` is the available power that an exciter of the source resistance needs for it, mismatch
    included. ``loaded_q`` is source resistance over the source capacitor's reactance, None without a pi.
    ``designed`` tells that the file gives no parts and these are netsim's.
    """

    band: str
    frequency_hertz: float
    drive_watt: float
    exciter_watt: float
    tube_impedance_ohm: tuple[float, float]
    swr: float
    loaded_q: float | None
    input_watt: float
    coil_henry: float | None
    source_capacitor_farad: float | None
    tube_capacitor_farad: float | None
    designed: bool
    parts: dict[str, InputPartStress]


@dataclass(frozen=True)
class ArcResult:
    """An arc at the plate, from the no-load voltage; its end is where the current has fallen to a hundredth.

    ``fuse_melts_second`` is None where the fuse is not known or does not melt.
    """

    peak_ampere: float | None
    glitch_joule: float
    tube_joule: float
    duration_second: float | None
    capacitor_joule: float
    charge_coulomb: float
    melting_integral_ampere_squared_second: float | None
    fuse_melts_second: float | None


@dataclass(frozen=True)
class SupplyResult:
    """The supply. Volts at the plate, behind the glitch resistor; currents of the secondary.

    Inrush is switched on at the mains' crest, from empty capacitors.
    """

    no_load_volt: float
    idle_volt: float | None
    full_load_volt: float
    ripple_volt: float
    secondary_rms_ampere: float
    secondary_peak_ampere: float
    inrush_peak_ampere: float
    inrush_peak_without_ampere: float
    inrush_joule: float | None
    stored_joule: float
    bleeder_watt: float | None
    discharge_second: float | None
    discharge_bleeder_open_second: float | None
    arc: ArcResult
    idle_current_ampere: float | None
    full_load_current_ampere: float
    regulation: float | None
    mains_watt: float
    winding_watt: float
    capacitor_volt: float
    bridging_peak_ampere: float | None
    inrush_second: float | None
    touch_volt: float | None
    worst_relative: float | None


@dataclass(frozen=True)
class JointResult:
    """The hot side of one item, with the range of the materials.

    ``halved_kelvin`` is what half of this resistance would take off the anode.
    """

    name: str
    celsius: float
    celsius_low: float
    celsius_high: float
    kelvin_per_watt: float
    halved_kelvin: float
    capacitance_farad: float | None
    warning: str


@dataclass(frozen=True)
class DetuningResult:
    """What the insulator costs on the highest band: loaded Q and tune setting needed, with it and without."""

    band: str
    frequency_hertz: float
    loaded_q: float
    loaded_q_without: float
    tune_needed_farad: float | None
    tune_needed_without_farad: float | None


@dataclass(frozen=True)
class CoolingResult:
    """The way of the heat at the hottest band and operating point, from the anode outwards."""

    joints: tuple[JointResult, ...]
    dissipated_watt: float
    key_down_second: float | None
    insulator_capacitance_farad: float | None
    band: str
    operating_point: str | None
    key_down_celsius: float
    idle_celsius: float
    back_second: float | None
    detuning: DetuningResult | None


@dataclass(frozen=True)
class FittingResult:
    """Preferred values that come nearest, in parallel if two, and the error that they leave."""

    ohm: tuple[float, ...]
    error: float


@dataclass(frozen=True)
class MeterResult:
    """One panel meter: ``shunt_ohm`` or ``multiplier_ohm`` for the scale wanted, ``power_watt`` at its last mark.

    ``fitted_ohm`` is what is there, None if nothing is; ``fitted_error`` of the reading by it.
    ``arc_movement_ampere`` is what an arc sends through the movement.
    """

    reads: str
    shunt_ohm: float | None
    multiplier_ohm: float | None
    resistors_in_series: int | None
    power_watt: float | None
    fitted_error: float | None
    preferred: dict[str, FittingResult]
    shows_idle: float | None
    shows_full: float | None
    full_scale: float
    arc_movement_ampere: float | None
    arc_shunt_volt: float | None
    fitted_ohm: float | None


@dataclass(frozen=True)
class BoxResult:
    """Everything around the network; each None where its table is absent."""

    bias: BiasResult | None = None
    input: tuple[InputResult, ...] | None = None
    supply: SupplyResult | None = None
    cooling: CoolingResult | None = None
    meters: tuple[MeterResult, ...] | None = field(default=None)
