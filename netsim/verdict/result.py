"""The result: what is known of an amplifier after solving it. SI floats; phasors are peak values."""

from dataclasses import dataclass, field
from typing import Any, Literal

from netsim.verdict.box.result import BoxResult

SCHEMA_VERSION = 1

State = Literal["over", "close", "not_rated", "pass"]
Case = Literal["matched", "while_tuning", "any_antenna"]

SURE = 0.025
"""A finding is unsure where more than this share of the amplifiers sampled is over, and more than this is not."""

PART_NAMES = (
    "suppressor",
    "plate_choke",
    "blocking_capacitor",
    "tune_capacitor",
    "tune_padding",
    "coil",
    "load_capacitor",
    "load_padding",
    "output_coil",
    "output_choke",
    "band_switch",
)


@dataclass(frozen=True)
class StageResult:
    """Nominal values of the stage; ``current_spectrum`` is ``I_n / I_dc`` for n = 1 to 10."""

    plate_load_ohm: float
    fundamental_current_ampere_peak: float
    plate_power_watt: float
    dc_input_watt: float
    current_spectrum: tuple[float, ...]


@dataclass(frozen=True)
class Harmonic:
    """One order: attenuation through the network, and level at the antenna (None where none flows).

    Where what the harmonic meets was not measured it is ``unknown``, and both are None.
    """

    order: int
    attenuation_db: float | None
    level_dbc: float | None
    unknown: bool = False


@dataclass(frozen=True)
class PartStress:
    """What one part carries at full output.

    ``voltage_peak_volt`` includes DC, ``rf_voltage_peak_volt`` does not; ``unloaded_`` is with the
    antenna off and the tune capacitor re-dipped. ``reactive_power_volt_ampere`` is None for what is not
    a capacitor.
    """

    voltage_peak_volt: float
    rf_voltage_peak_volt: float
    unloaded_voltage_peak_volt: float
    current_rms_ampere: float
    loss_watt: float
    reactive_power_volt_ampere: float | None = None


@dataclass(frozen=True)
class Agreement:
    """How far the two solvers are apart; None if one of them did not run."""

    worst_relative: float | None


@dataclass(frozen=True)
class CoilLoop:
    """A shorted loop of unused turns; its loss is part of the coil's."""

    turns: float
    current_rms_ampere: float
    loss_watt: float


@dataclass(frozen=True)
class LargeSignalResult:
    """What the file's tube does at one frequency, settings as solved.

    ``efficiency`` is output over the DC power of the plate supply. Harmonic levels are those of power in the
    antenna. ``worst_difference_to_spice_db`` is of antenna voltages, orders down to -70 dBc, against ngspice
    over time; None where that did not run. The grid's current and heat are None where its law is not known, and
    with them the drive in grounded cathode; in grounded grid the drive is then what passes through alone.
    ``input_resistance_ohm`` is None where the drive gives no power.
    """

    plate_current_dc_ampere: float
    grid_current_dc_ampere: float | None
    output_watt: float
    drive_watt: float | None
    feed_through_watt: float
    plate_dissipation_watt: float
    grid_dissipation_watt: float | None
    efficiency: float
    conduction_angle_degree: float
    plate_voltage_minimum_volt: float
    input_resistance_ohm: float | None
    harmonics: tuple[Harmonic, ...]
    worst_difference_to_spice_db: float | None


@dataclass(frozen=True)
class Point:
    """One frequency of one band. Settings are those of the variable parts alone.

    ``coil_`` and ``output_coil_`` turns, Q and free-end voltage (tap to free end, open turns alone) are None where a
    coil is given by its inductance, and its loops empty. ``large_signal`` is None without a tube.
    """

    frequency_hertz: float
    tuned: bool
    plate_impedance_ohm: tuple[float, float]
    tune_farad: float
    load_farad: float
    tune_needed_farad: float | None
    load_needed_farad: float | None
    coil_henry: float
    output_coil_henry: float | None
    loaded_q: float
    stored_energy_q: float
    efficiency: float
    output_watt: float
    plate_dissipation_watt: float
    harmonics: tuple[Harmonic, ...]
    parts: dict[str, PartStress | None]
    agreement: Agreement
    coil_turns: float | None = None
    coil_q: float | None = None
    coil_loops: tuple[CoilLoop, ...] = ()
    coil_free_end_voltage_peak_volt: float | None = None
    output_coil_turns: float | None = None
    output_coil_q: float | None = None
    output_coil_loops: tuple[CoilLoop, ...] = ()
    output_coil_free_end_voltage_peak_volt: float | None = None
    large_signal: LargeSignalResult | None = None


@dataclass(frozen=True)
class BandResult:
    """The points of one band, in the file's order.

    ``losses`` tells where the power of the plate goes at the frequency of least output, `losses_at_hertz`.
    """

    name: str
    points: tuple[Point, ...]
    losses_at_hertz: float | None = None
    losses: tuple["Loss", ...] = ()


@dataclass(frozen=True)
class Settling:
    """An input within limits, and the share of a used fraction's variance that knowing it would remove."""

    key: str
    line: int
    share: float


@dataclass(frozen=True)
class RemedyEdit:
    """A key as it stands in the file, such as ``bands[10 m].coil_turns``, and what it is to say; None takes it away."""

    key: str
    value: Any


@dataclass(frozen=True)
class Worse:
    """What a remedy makes worse: it becomes over or close and was not, or is over and rises.

    ``used_after`` is None where no fraction can be formed.
    """

    code: str
    band: str | None
    part: str
    used_after: float | None
    quantity: str
    case: Case
    operating_point: str | None
    state: State


@dataclass(frozen=True)
class Remedy:
    """One thing to do about a finding, solved over all frequencies and operating points.

    ``used_after`` is the finding's used fraction with it, None where it is gone or has none; ``clears`` tells
    whether what was over is so no longer, or what was close.
    """

    edits: tuple[RemedyEdit, ...]
    text: str
    used_after: float | None
    clears: bool
    worse: tuple[Worse, ...]


@dataclass(frozen=True)
class Finding:
    """One verdict: a value against its limit, why it is so, and what would mend it.

    ``used_fraction`` is 1 at the limit; None where no fraction can be formed. ``line`` is where in the
    file the limit, or failing that the part, is written. ``order`` names the harmonic, if it is one.
    ``operating_point`` is None for the stage as it stands in the file. ``used_low`` and ``used_high`` are the 2.5
    and 97.5 % points of the used fraction over the amplifiers sampled, None where it has no value there;
    ``share_over`` is the share of them that is over; all None where nothing was sampled. ``remedies`` of what is over
    or close are
    at most three, the best first; empty where none was found, or none was looked for.
    """

    code: str
    state: State
    case: Case
    band: str | None
    frequency_hertz: float | None
    part: str
    quantity: str
    value: float | None
    limit: float | None
    unit: str
    used_fraction: float | None
    message: str
    why: str
    fix: str
    line: int | None
    order: int | None = None
    operating_point: str | None = None
    remedies: tuple[Remedy, ...] = ()
    used_low: float | None = None
    used_high: float | None = None
    share_over: float | None = None
    settled_by: tuple[Settling, ...] | None = None

    @property
    def unsure(self) -> bool:
        """Whether the limits of what is known leave open on which side of its own limit it is."""
        return self.share_over is not None and SURE < self.share_over < 1 - SURE


@dataclass(frozen=True)
class KnownInput:
    """A quantity known within limits: those of the file, or typical ones for what it leaves out. SI units."""

    key: str
    line: int
    nominal: float
    low: float
    high: float
    unit: str
    source: Literal["file", "assumed"]


@dataclass(frozen=True)
class WorthMeasuring:
    """An input that leaves more of so many unsure findings open than any other does.

    ``share`` is the mean share of their variance that knowing it would remove.
    """

    key: str
    line: int
    findings: int
    share: float


@dataclass(frozen=True)
class Known:
    """How well the amplifier is known, and by how many amplifiers within its limits that was tried.

    ``measure`` ranks what would settle most findings. One sample is the amplifier as it stands, without limits.
    """

    samples: int
    seed: int
    inputs: tuple[KnownInput, ...]
    measure: tuple[WorthMeasuring, ...]


@dataclass(frozen=True)
class Loss:
    """Where power goes: ``share`` is of the power the stage would give into its plate load.

    ``watt_low`` and ``watt_high`` hold 95 % of the amplifiers sampled; None where nothing was.
    """

    place: str
    watt: float
    share: float
    watt_low: float | None = None
    watt_high: float | None = None


@dataclass(frozen=True)
class OperatingPointResult:
    """The same network under another condition of the stage, on the bands that it serves."""

    name: str
    stage: StageResult
    bands: tuple[BandResult, ...]


@dataclass(frozen=True)
class Assumption:
    """Something the file does not say and the calculation had to suppose."""

    part: str
    key: str
    assumed: str
    add: str
    line: int | None


@dataclass(frozen=True)
class Note:
    """Something that is no finding and no error but asks to be looked at again, with its line and key."""

    code: str
    message: str
    line: int | None
    key: str | None


@dataclass(frozen=True)
class CurvePointMiss:
    """The point of the tube's curves that its fitted law misses the most; ``miss`` is over the reading."""

    index: int
    plate_volt: float
    grid_volt: float
    current_ampere: float
    miss: float | None


@dataclass(frozen=True)
class TubeResult:
    """The tube as it was solved, at the stage as it stands.

    ``constants`` are those of its law, per tube, None where not known. ``residual_rms`` and ``worst_point`` tell how
    well they fit the curves. The idle current is that at ``box.bias.idle_plate_volt``.
    """

    bias_volt: float
    drive_volt_peak: float
    idle_current_ampere: float
    constants: dict[str, float | None]
    residual_rms: float | None
    worst_point: CurvePointMiss | None


@dataclass(frozen=True)
class Provenance:
    """What made this result. Versions; None for an engine that did not run."""

    netsim: str
    python: str
    numpy: str
    pyspice: str | None
    ngspice: str | None
    scikit_rf: str
    input_sha256: str


@dataclass(frozen=True)
class Verdict:
    """Everything known of an amplifier. Findings, of all operating points, are ordered worst first.

    ``stage`` and ``bands`` are those of the file's own stage. ``judged_on`` tells what the plate current is: the
    pulse of the conduction angle, or the steady state of the tube, which ``tube`` describes.
    """

    schema_version: int
    title: str
    topology: str
    stage: StageResult
    bands: tuple[BandResult, ...]
    findings: tuple[Finding, ...]
    counts: dict[str, int]
    assumptions: tuple[Assumption, ...]
    cross_checked: bool
    provenance: Provenance
    operating_points: tuple[OperatingPointResult, ...] = ()
    judged_on: Literal["pulse", "tube"] = "pulse"
    tube: TubeResult | None = None
    notes: tuple[Note, ...] = ()
    box: BoxResult = field(default_factory=BoxResult)
    known: Known = Known(1, 0, (), ())
