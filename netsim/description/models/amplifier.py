"""What the owner of an amplifier writes down: frozen models in SI floats, one attribute per key of the file.

A key is one line: its measure (unit, plausible range, how it is written) and a sentence for the reader.
Strings with units are converted on the way in; floats are taken as SI, which is how tests and tools build
models directly. Rules between keys are in `rules`.
"""

from typing import Literal, Self

from pydantic import Field, model_validator

from netsim.description.models import box, box_rules, measured_rules, operating_point, rules, winding_rules
from netsim.description.models import keys as m
from netsim.description.models.capacitors import FixedCapacitor, Padding, VariableCapacitor
from netsim.description.models.coils import Coil, OutputCoil, PlainWinding
from netsim.description.models.measured import MOST_READINGS, Measured
from netsim.description.models.tables import Part, Table
from netsim.description.models.tube import Tube


class Stage(Table):
    """The tube and its supply at full single-tone output. Volts, amperes, radians, ohms, farads, watts."""

    between_keys = (rules.stage,)

    plate_voltage: m.PlateVolts = Field(description="DC plate voltage under load")
    no_load_plate_voltage: m.PlateVolts | None = m.optional("DC plate voltage at no load")
    plate_current: m.Amperes = Field(description="DC plate current at full single-tone output")
    conduction_angle: m.Angle = Field(
        description="Total conduction angle of the plate current; 360 deg is class A"
    )
    pulse: m.Pulse = m.optional(
        "Shape of the plate current: a clipped cosine, or its 3/2 power as space charge makes it", "cosine"
    )
    minimum_plate_voltage: m.MinimumVolts | None = m.optional(
        "Lowest plate to cathode voltage of the swing; this or plate_load, not both"
    )
    plate_load: m.PlateOhms | None = m.optional(
        "Resistance the plate is to work into; this or minimum_plate_voltage, not both"
    )
    drive_voltage_peak: m.DriveVolts = m.optional(
        "Peak drive voltage in series with the plate swing (grounded grid); 0 V otherwise", 0.0
    )
    output_capacitance: m.SmallFarads | None = m.optional("Plate to grounded grid, socket included")
    dissipation_rating: m.Watts | None = m.optional("Rated plate dissipation, all tubes")
    grid_current_rating: m.GridAmperes | None = m.optional("Rated mean grid current, all tubes")
    grid_dissipation_rating: m.Watts | None = m.optional("Rated grid dissipation, all tubes")
    duty: m.DutyFraction = m.optional("Mean over peak power, for the heat of parts; never for voltages", 1.0)

    @property
    def highest_plate_voltage(self) -> float:
        """Plate voltage without a load where that is given, else under load [V]."""
        return self.plate_voltage if self.no_load_plate_voltage is None else self.no_load_plate_voltage


class Antenna(Table):
    """What the network feeds. Resistance in ohms."""

    resistance: m.AntennaOhms = m.optional("Resistance of the matched antenna or feeder", 50.0)
    worst_swr: m.Swr = m.optional("Worst standing wave ratio the amplifier is to work into", 1.0)
    measured: m.OnePortFile | None = m.optional(
        "Touchstone file of the antenna's own impedance, instead of worst_swr"
    )
    filter: m.TwoPortFile | None = m.optional("Touchstone file of a filter between network and antenna")


class Limits(Table):
    """Limits that come from practice or from rules, not from a part. Level in dB relative to the carrier."""

    between_keys = (rules.limits,)

    loaded_q: tuple[m.LoadedQ, m.LoadedQ] = m.optional(
        "Window of the loaded Q, lowest and highest", (8.0, 20.0)
    )
    target_loaded_q: m.LoadedQ = m.optional("Loaded Q that designs aim at", 12.0)
    harmonic_level: m.Level = m.optional("Highest level of any harmonic against the carrier", -43.0)
    harmonic_level_source: m.Text | None = m.optional(
        "Whose rule harmonic_level is; without either it is 47 CFR 97.307(d), one country's, below 30 MHz"
    )
    close_to_rating: m.Fraction = m.optional("Fraction of a rating from which use counts as close to it", 0.9)

    padding_stock: tuple[m.StockFarads, ...] = Field(
        default=m.PADDING_STOCK,
        min_length=1,
        max_length=m.MOST_STOCK,
        description="Fixed capacitors at hand for paddings",
    )


class Suppressor(Part):
    """Coil and resistor in parallel in the plate lead, against parasitics. Henries, ohms, watts."""

    between_keys = (rules.suppressor,)

    inductance: m.CoilHenries | None = m.optional("Inductance of the suppressor's coil; this or winding")
    winding: PlainWinding | None = m.optional("The suppressor's coil by its turns")
    resistance: m.SuppressorOhms = Field(description="Resistance of the suppressor's resistor")
    power_rating: m.Watts | None = m.optional("Continuous rating of the resistor")


class PlateChoke(Part):
    """Feeds the plate supply to the plate. Henries, farads, hertz, amperes rms."""

    inductance: m.ChokeHenries = Field(description="Inductance")
    q: m.UnloadedQ | None = m.optional("Unloaded Q at the working frequency")
    self_capacitance: m.SmallFarads | None = m.optional("Capacitance across the winding")
    series_resonances: tuple[m.ResonanceHertz, ...] = Field(
        default=(),
        max_length=m.MOST_RESONANCES,
        description="Series resonances, measured with the ends shorted together",
    )
    winding: PlainWinding | None = m.optional("Its turns, from which what was not measured is estimated")
    current_rating: m.Amperes | None = m.optional("Rated current, rms, DC included")


class OutputChoke(Part):
    """From the antenna terminal to chassis, against plate voltage on the antenna. Henries, amperes rms."""

    inductance: m.ChokeHenries = Field(description="Inductance")
    q: m.UnloadedQ | None = m.optional("Unloaded Q at the working frequency")
    current_rating: m.Amperes | None = m.optional("Rated current, rms")


class BandSwitch(Part):
    """The switch that shorts or selects turns. Amperes rms, volts peak."""

    current_rating: m.RatedAmperes | None = m.optional("Rated current, rms")
    voltage_rating: m.RatedVolts | None = m.optional("Rated peak voltage")


class Network(Table):
    """The output network: its topology and its parts. An absent part is a wire, or an ideal choke."""

    between_keys = (rules.network, winding_rules.coils)

    topology: Literal["pi", "pi-L"] = Field(description="pi, or pi-L with an output coil towards the antenna")
    plate_lead_inductance: m.LeadHenries = m.optional("Of the lead from the plate to what follows", 0.0)
    suppressor: Suppressor | None = m.optional("Suppressor in the plate lead")
    plate_choke: PlateChoke | None = m.optional("Plate choke; ideal if absent")
    blocking_capacitor: FixedCapacitor | None = m.optional(
        "Blocking capacitor; without one the plate supply stands on the antenna"
    )
    tune_capacitor: VariableCapacitor = Field(description="Variable capacitor on the plate side of the coil")
    load_capacitor: VariableCapacitor = Field(
        description="Variable capacitor on the antenna side of the coil"
    )
    tune_padding: Padding | None = m.optional("Fixed capacitors across the tune capacitor")
    load_padding: Padding | None = m.optional("Fixed capacitors across the load capacitor")
    coil: Coil = Field(description="The tank coil")
    output_coil: OutputCoil | None = m.optional("The L of a pi-L")
    output_choke: OutputChoke | None = m.optional("Choke from antenna terminal to chassis")
    band_switch: BandSwitch | None = m.optional("Band switch")


class Band(Table):
    """One position of the band switch. Hertz, henries, farads."""

    between_keys = (rules.band, winding_rules.band)

    name: m.Text = Field(description="Name of the band, different from all others")
    frequencies: tuple[m.BandHertz, ...] = Field(
        min_length=1, max_length=m.MOST_FREQUENCIES, description="Frequencies to check"
    )
    coil: m.CoilHenries | None = m.optional("Inductance of the tank coil in use; this or coil_turns")
    coil_turns: m.Turns | None = m.optional(
        "Turns of the tank coil in use, from the plate end; needs a winding"
    )
    output_coil: m.CoilHenries | None = m.optional(
        "Inductance of the output coil, pi-L only; this or output_coil_turns"
    )
    output_coil_turns: m.Turns | None = m.optional(
        "Turns of the output coil in use, from its network end; needs a winding"
    )
    tune_padding: m.VariableFarads | None = m.optional("Fixed part across the tune capacitor")
    load_padding: m.VariableFarads | None = m.optional("Fixed part across the load capacitor")
    tune: m.Settings | None = m.optional(
        "Setting of the tune capacitor, with load: one at all frequencies, or a list beside them"
    )
    load: m.Settings | None = m.optional(
        "Setting of the load capacitor, with tune: one at all frequencies, or a list beside them"
    )
    input_coil: m.CoilHenries | None = m.optional("Coil of the input network; needs [input] with a pi")
    input_source_capacitor: m.InputFarads | None = m.optional(
        "Capacitor of the input network on the exciter's side"
    )
    input_tube_capacitor: m.InputFarads | None = m.optional(
        "Capacitor of the input network on the tube's side, beside input_capacitance"
    )

    def settings(self, key: Literal["tune", "load"]) -> tuple[float | None, ...]:
        """Return the given setting at each frequency [F]; None where it is to be found."""
        given = getattr(self, key)
        return given if isinstance(given, tuple) else (given,) * len(self.frequencies)


class Description(Table):
    """Everything in one amplifier file."""

    title: m.Text = m.optional("Free text, one line", "Untitled amplifier")
    stage: Stage = Field(description="The tube and its supply at full single-tone output")
    tube: Tube | None = m.optional("The tube's own law, for large-signal results")
    antenna: Antenna = Field(default_factory=Antenna, description="What the network feeds")
    limits: Limits = Field(default_factory=Limits, description="Limits from practice or rules")
    network: Network = Field(description="The output network and its parts")
    bands: tuple[Band, ...] = Field(
        min_length=1, max_length=m.MOST_BANDS, description="One table per position of the band switch"
    )
    bias: box.Bias | None = m.optional("How the tube gets its bias")
    input: box.InputNetwork | None = m.optional("The network between exciter and tube")
    supply: box.Supply | None = m.optional("The plate supply")
    cooling: box.Cooling | None = m.optional("The way of the plate's heat")
    meters: tuple[box.Meter, ...] = Field(
        default=(), max_length=box.MOST_ITEMS, description="One table for each panel meter"
    )
    measured: tuple[Measured, ...] = Field(
        default=(), max_length=MOST_READINGS, description="What the bench showed, one table for each reading"
    )
    operating_points: tuple[operating_point.OperatingPoint, ...] = Field(
        default=(),
        max_length=m.MOST_POINTS,
        description="Other conditions that the same network and taps have to serve",
    )

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce(
            [*rules.bands_of(self.network, self.bands), *winding_rules.bands(self.network, self.bands)]
        )
        rules.enforce([*box_rules.box_tables(self), *measured_rules.measured(self)])
        rules.enforce(operating_point.breaches(self.operating_points, self.stage, self.bands))
        return self
