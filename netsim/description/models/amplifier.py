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

    plate_voltage: m.PlateVolts = Field(description="DC plate voltage under load")
    no_load_plate_voltage: m.PlateVolts | None = Field(
        default=None, description="DC plate voltage at no load"
    )
    plate_current: m.Amperes = Field(description="DC plate current at full single-tone output")
    conduction_angle: m.Angle = Field(
        description="Total conduction angle of the plate current; 360 deg is class A"
    )
    pulse: m.Pulse = Field(
        default="cosine",
        description="Shape of the plate current: a clipped cosine, or its 3/2 power as space charge makes it",
    )
    minimum_plate_voltage: m.MinimumVolts | None = Field(
        default=None, description="Lowest plate to cathode voltage of the swing; this or plate_load, not both"
    )
    plate_load: m.PlateOhms | None = Field(
        default=None,
        description="Resistance the plate is to work into; this or minimum_plate_voltage, not both",
    )
    drive_voltage_peak: m.DriveVolts = Field(
        default=0.0,
        description="Peak drive voltage in series with the plate swing (grounded grid); 0 V otherwise",
    )
    output_capacitance: m.SmallFarads | None = Field(
        default=None, description="Plate to grounded grid, socket included"
    )
    dissipation_rating: m.Watts | None = Field(default=None, description="Rated plate dissipation, all tubes")
    grid_current_rating: m.GridAmperes | None = Field(
        default=None, description="Rated mean grid current, all tubes"
    )
    grid_dissipation_rating: m.Watts | None = Field(
        default=None, description="Rated grid dissipation, all tubes"
    )
    duty: m.DutyFraction = Field(
        default=1.0, description="Mean over peak power, for the heat of parts; never for voltages"
    )

    @property
    def highest_plate_voltage(self) -> float:
        """Plate voltage without a load where that is given, else under load [V]."""
        return self.plate_voltage if self.no_load_plate_voltage is None else self.no_load_plate_voltage

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce(rules.stage(self))
        return self


class Antenna(Table):
    """What the network feeds. Resistance in ohms."""

    resistance: m.AntennaOhms = Field(default=50.0, description="Resistance of the matched antenna or feeder")
    worst_swr: m.Swr = Field(
        default=1.0, description="Worst standing wave ratio the amplifier is to work into"
    )
    measured: m.OnePortFile | None = Field(
        default=None, description="Touchstone file of the antenna's own impedance, instead of worst_swr"
    )
    filter: m.TwoPortFile | None = Field(
        default=None, description="Touchstone file of a filter between network and antenna"
    )


class Limits(Table):
    """Limits that come from practice or from rules, not from a part. Level in dB relative to the carrier."""

    loaded_q: tuple[m.LoadedQ, m.LoadedQ] = Field(
        default=(8.0, 20.0), description="Window of the loaded Q, lowest and highest"
    )
    target_loaded_q: m.LoadedQ = Field(default=12.0, description="Loaded Q that designs aim at")
    harmonic_level: m.Level = Field(
        default=-43.0, description="Highest level of any harmonic against the carrier"
    )
    harmonic_level_source: m.Text | None = Field(
        default=None,
        description="Whose rule harmonic_level is; without either it is 47 CFR 97.307(d), one country's, below 30 MHz",
    )
    close_to_rating: m.Fraction = Field(
        default=0.9, description="Fraction of a rating from which use counts as close to it"
    )

    padding_stock: tuple[m.StockFarads, ...] = Field(
        default=m.PADDING_STOCK,
        min_length=1,
        max_length=m.MOST_STOCK,
        description="Fixed capacitors at hand for paddings",
    )

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce(rules.limits(self))
        return self


class Suppressor(Part):
    """Coil and resistor in parallel in the plate lead, against parasitics. Henries, ohms, watts."""

    inductance: m.CoilHenries | None = Field(
        default=None, description="Inductance of the suppressor's coil; this or winding"
    )
    winding: PlainWinding | None = Field(default=None, description="The suppressor's coil by its turns")
    resistance: m.SuppressorOhms = Field(description="Resistance of the suppressor's resistor")
    power_rating: m.Watts | None = Field(default=None, description="Continuous rating of the resistor")

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce(rules.suppressor(self))
        return self


class PlateChoke(Part):
    """Feeds the plate supply to the plate. Henries, farads, hertz, amperes rms."""

    inductance: m.ChokeHenries = Field(description="Inductance")
    q: m.UnloadedQ | None = Field(default=None, description="Unloaded Q at the working frequency")
    self_capacitance: m.SmallFarads | None = Field(default=None, description="Capacitance across the winding")
    series_resonances: tuple[m.ResonanceHertz, ...] = Field(
        default=(),
        max_length=m.MOST_RESONANCES,
        description="Series resonances, measured with the ends shorted together",
    )
    winding: PlainWinding | None = Field(
        default=None, description="Its turns, from which what was not measured is estimated"
    )
    current_rating: m.Amperes | None = Field(default=None, description="Rated current, rms, DC included")


class OutputChoke(Part):
    """From the antenna terminal to chassis, against plate voltage on the antenna. Henries, amperes rms."""

    inductance: m.ChokeHenries = Field(description="Inductance")
    q: m.UnloadedQ | None = Field(default=None, description="Unloaded Q at the working frequency")
    current_rating: m.Amperes | None = Field(default=None, description="Rated current, rms")


class BandSwitch(Part):
    """The switch that shorts or selects turns. Amperes rms, volts peak."""

    current_rating: m.RatedAmperes | None = Field(default=None, description="Rated current, rms")
    voltage_rating: m.RatedVolts | None = Field(default=None, description="Rated peak voltage")


class Network(Table):
    """The output network: its topology and its parts. An absent part is a wire, or an ideal choke."""

    topology: Literal["pi", "pi-L"] = Field(description="pi, or pi-L with an output coil towards the antenna")
    plate_lead_inductance: m.LeadHenries = Field(
        default=0.0, description="Of the lead from the plate to what follows"
    )
    suppressor: Suppressor | None = Field(default=None, description="Suppressor in the plate lead")
    plate_choke: PlateChoke | None = Field(default=None, description="Plate choke; ideal if absent")
    blocking_capacitor: FixedCapacitor | None = Field(
        default=None, description="Blocking capacitor; without one the plate supply stands on the antenna"
    )
    tune_capacitor: VariableCapacitor = Field(description="Variable capacitor on the plate side of the coil")
    load_capacitor: VariableCapacitor = Field(
        description="Variable capacitor on the antenna side of the coil"
    )
    tune_padding: Padding | None = Field(
        default=None, description="Fixed capacitors across the tune capacitor"
    )
    load_padding: Padding | None = Field(
        default=None, description="Fixed capacitors across the load capacitor"
    )
    coil: Coil = Field(description="The tank coil")
    output_coil: OutputCoil | None = Field(default=None, description="The L of a pi-L")
    output_choke: OutputChoke | None = Field(
        default=None, description="Choke from antenna terminal to chassis"
    )
    band_switch: BandSwitch | None = Field(default=None, description="Band switch")

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce([*rules.network(self), *winding_rules.coils(self)])
        return self


class Band(Table):
    """One position of the band switch. Hertz, henries, farads."""

    name: m.Text = Field(description="Name of the band, different from all others")
    frequencies: tuple[m.BandHertz, ...] = Field(
        min_length=1, max_length=m.MOST_FREQUENCIES, description="Frequencies to check"
    )
    coil: m.CoilHenries | None = Field(
        default=None, description="Inductance of the tank coil in use; this or coil_turns"
    )
    coil_turns: m.Turns | None = Field(
        default=None, description="Turns of the tank coil in use, from the plate end; needs a winding"
    )
    output_coil: m.CoilHenries | None = Field(
        default=None, description="Inductance of the output coil, pi-L only; this or output_coil_turns"
    )
    output_coil_turns: m.Turns | None = Field(
        default=None, description="Turns of the output coil in use, from its network end; needs a winding"
    )
    tune_padding: m.VariableFarads | None = Field(
        default=None, description="Fixed part across the tune capacitor"
    )
    load_padding: m.VariableFarads | None = Field(
        default=None, description="Fixed part across the load capacitor"
    )
    tune: m.Settings | None = Field(
        default=None,
        description="Setting of the tune capacitor, with load: one at all frequencies, or a list beside them",
    )
    load: m.Settings | None = Field(
        default=None,
        description="Setting of the load capacitor, with tune: one at all frequencies, or a list beside them",
    )
    input_coil: m.CoilHenries | None = Field(
        default=None, description="Coil of the input network; needs [input] with a pi"
    )
    input_source_capacitor: m.InputFarads | None = Field(
        default=None, description="Capacitor of the input network on the exciter's side"
    )
    input_tube_capacitor: m.InputFarads | None = Field(
        default=None,
        description="Capacitor of the input network on the tube's side, beside input_capacitance",
    )

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce([*rules.band(self), *winding_rules.band(self)])
        return self

    def settings(self, key: Literal["tune", "load"]) -> tuple[float | None, ...]:
        """Return the given setting at each frequency [F]; None where it is to be found."""
        given = getattr(self, key)
        return given if isinstance(given, tuple) else (given,) * len(self.frequencies)


class Description(Table):
    """Everything in one amplifier file."""

    title: m.Text = Field(default="Untitled amplifier", description="Free text, one line")
    stage: Stage = Field(description="The tube and its supply at full single-tone output")
    tube: Tube | None = Field(default=None, description="The tube's own law, for large-signal results")
    antenna: Antenna = Field(default_factory=Antenna, description="What the network feeds")
    limits: Limits = Field(default_factory=Limits, description="Limits from practice or rules")
    network: Network = Field(description="The output network and its parts")
    bands: tuple[Band, ...] = Field(
        min_length=1, max_length=m.MOST_BANDS, description="One table per position of the band switch"
    )
    bias: box.Bias | None = Field(default=None, description="How the tube gets its bias")
    input: box.InputNetwork | None = Field(default=None, description="The network between exciter and tube")
    supply: box.Supply | None = Field(default=None, description="The plate supply")
    cooling: box.Cooling | None = Field(default=None, description="The way of the plate's heat")
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
