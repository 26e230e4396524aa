"""The box around the network: bias, input network, supply, cooling, meters. SI floats, degrees Celsius."""

from typing import Annotated, Literal

from pydantic import Field, StrictBool

from netsim.description.models import box_rules
from netsim.description.models import keys as m
from netsim.description.models.tables import Part, Table
from netsim.description.quantity import FullScale, Measure

_WHOLE = "it is a whole number"
DriveWatts = Annotated[float, Measure("W", 0.01, 5e3, "65 W")]
SourceOhms = Annotated[float, Measure("ohm", 1, 10e3, "50 ohm")]
CircuitOhms = Annotated[float, Measure("ohm", 1e-3, 100e6, "100 kohm")]
SecondaryVolts = Annotated[float, Measure("V", 10, 20e3, "2.1 kV")]
CapacitorFarads = Annotated[float, Measure("F", 1e-9, 1, "270 uF")]
Capacitors = Annotated[float, Measure("1", 1, 100, "8", fixed=_WHOLE)]
TouchVolts = Annotated[float, Measure("V", 1, 1e3, "50 V")]
ArcVolts = Annotated[float, Measure("V", 1, 1e3, "50 V")]
Joules = Annotated[float, Measure("J", 1e-3, 1e5, "150 J")]
Seconds = Annotated[float, Measure("s", 1e-3, 3600, "0.5 s")]
MeltingIntegral = Annotated[float, Measure("A^2 s", 1e-4, 1e6, "20 A^2 s")]
Ratio = Annotated[float, Measure("1", 1e-3, 1e3, "9.1")]
HeatCapacity = Annotated[float, Measure("J/K", 0.1, 1e5, "180 J/K")]
HeatResistance = Annotated[float, Measure("K/W", 1e-5, 1e3, "0.08 K/W")]
Conductivity = Annotated[float, Measure("W/(m K)", 0.01, 5e3, "24 W/(m K)")]
Permittivity = Annotated[float, Measure("1", 1, 100, "9.6")]
SmallMetres = Annotated[float, Measure("m", 1e-6, 0.5, "3 mm")]
SquareMetres = Annotated[float, Measure("m^2", 1e-6, 1, "25 cm^2")]
AirCelsius = Annotated[float, Measure("degC", -40, 80, "30 degC")]
AnodeCelsius = Annotated[float, Measure("degC", 45, 800, "250 degC")]
Fins = Annotated[float, Measure("1", 1, 500, "24", fixed=_WHOLE)]
MovementAmperes = Annotated[float, Measure("A", 1e-6, 10, "1 mA")]
MeterOhms = Annotated[float, Measure("ohm", 1e-5, 1e9, "100 ohm")]

Material = Literal[
    "copper",
    "aluminium",
    "aluminium 6061",
    "aluminium 6063",
    "brass",
    "alumina",
    "aluminium nitride",
    "boron nitride",
    "beryllia",
    "mica",
    "silicone pad",
    "grease",
]
MOST_ITEMS = 20


class Bias(Part):
    """How the tube gets its bias; needs [tube]. Watts."""

    kind: Literal["fixed", "zener", "cathode resistor"] = Field(
        description="fixed: a supply of its own; zener, or a transistor in its place; cathode resistor"
    )
    power_rating: m.Watts | None = m.optional("Rated power of the zener, transistor or resistor")


class InputNetwork(Part):
    """What stands between exciter and cathode or grid. Ohms, watts, farads, henries."""

    topology: Literal["none", "pi"] = Field(
        description="none: straight to the tube; pi: its parts stand with the bands"
    )
    source_resistance: SourceOhms = m.optional("Resistance that the exciter wants to see", 50.0)
    available_power: DriveWatts | None = m.optional("What the exciter can give")
    coil_q: m.UnloadedQ | None = m.optional("Unloaded Q of the pi's coils")
    input_capacitance: m.SmallFarads | None = m.optional(
        "Cathode, or driven grid, to chassis, socket included"
    )
    heater_choke: m.ChokeHenries | None = m.optional(
        "Inductance of the choke that keeps the drive from the heater's supply"
    )
    swamping_resistance: SourceOhms | None = m.optional(
        "Resistor from a driven grid to chassis, against which the exciter works"
    )
    target_loaded_q: m.LoadedQ = m.optional("Loaded Q that designs of the pi aim at", 2.0)


class Supply(Part):
    """The plate supply from the mains to the plate. Volts, ohms, farads, joules, seconds."""

    between_keys = (box_rules.supply,)

    mains_frequency: m.MainsHertz = Field(description="Of the mains")
    secondary_voltage: SecondaryVolts = Field(
        description="Of the transformer's secondary, rms, without load; half of a centre-tapped one"
    )
    secondary_resistance: CircuitOhms = Field(
        description="Of the windings, that of the primary included, as seen at the secondary"
    )
    rectifier: Literal["bridge", "full-wave", "doubler"] = Field(
        description="bridge; full-wave: two diodes and a centre tap; doubler: full-wave voltage doubler"
    )
    capacitance: CapacitorFarads = Field(description="Of each filter capacitor")
    capacitors_in_series: Capacitors = m.optional(
        "Filter capacitors from plate supply to chassis, all alike", 1.0
    )
    capacitor_voltage_rating: m.RatedVolts | None = m.optional("Rated voltage of each filter capacitor")
    capacitor_resistance: CircuitOhms | None = m.optional(
        "Loss of the whole chain in an arc, in series; none if absent"
    )
    equalizing_resistance: CircuitOhms | None = m.optional("Across each filter capacitor")
    bleeder: CircuitOhms | None = m.optional("Across the whole chain")
    bleeder_power_rating: m.Watts | None = m.optional("Rated power of the bleeder")
    inrush_resistor: CircuitOhms | None = m.optional(
        "In the primary while the supply charges; needs turns_ratio"
    )
    turns_ratio: Ratio | None = m.optional("Turns of the secondary over turns of the primary")
    inrush_time: Seconds | None = m.optional(
        "From switching on until the inrush resistor is bridged; once charged if absent"
    )
    inrush_pulse_rating: Joules | None = m.optional("Heat that the inrush resistor stands at once")
    glitch_resistor: CircuitOhms | None = m.optional(
        "Between filter capacitors and plate choke, against arcs"
    )
    glitch_pulse_rating: Joules | None = m.optional("Heat that the glitch resistor stands at once")
    fuse_melting_integral: MeltingIntegral | None = m.optional(
        "Of a fuse behind the filter capacitors, before it melts"
    )
    touch_voltage: TouchVolts | None = m.optional("What counts as discharged; your local rules say how much")
    arc_voltage: ArcVolts = m.optional("Drop of an arc at the tube's plate", 50.0)


class HeatPathItem(Table):
    """One piece on the way of the heat: by its resistance, its material and size, or fins. SI units."""

    between_keys = (box_rules.heat_path_item,)

    name: m.Text = Field(description="What it is, such as seal, clamp, insulator, sink")
    thermal_resistance: HeatResistance | None = m.optional(
        "From its hot side to the next; or its material and size"
    )
    material: Material | None = m.optional(
        "Of a table with ranges; or conductivity. The dust of beryllia is toxic"
    )
    conductivity: Conductivity | None = m.optional("In place of a material")
    thickness: SmallMetres | None = m.optional("Along the way of the heat")
    area: SquareMetres | None = m.optional("Across the way of the heat")
    electrical: StrictBool = m.optional("Whether it insulates the plate voltage", False)
    permittivity: Permittivity | None = m.optional("Relative, of an insulator that a conductivity describes")
    adds_to_output_capacitance: StrictBool = m.optional(
        "Whether the insulator's capacitance stands from plate to chassis", False
    )
    fins: Fins | None = m.optional("Number of fins of a sink in still air")
    fin_height: SmallMetres | None = m.optional("From the base to the tip")
    fin_length: SmallMetres | None = m.optional("Along the stream of air, upright")
    fin_thickness: SmallMetres | None = m.optional("Of one fin")
    fin_gap: SmallMetres | None = m.optional("Between two fins")


class Cooling(Table):
    """Where the heat of the plate goes, from the anode outwards. Degrees Celsius, joules per kelvin."""

    between_keys = (box_rules.cooling,)

    ambient: AirCelsius = Field(description="Air that reaches the last item")
    anode_temperature_limit: AnodeCelsius = Field(description="Of the anode or its seal, as the maker says")
    heat_capacity: HeatCapacity | None = m.optional(
        "Of the tube, and what is fixed to it, up to the first item"
    )
    path: tuple[HeatPathItem, ...] = Field(
        min_length=1, max_length=MOST_ITEMS, description="From the anode outwards"
    )


class Meter(Part):
    """A panel meter and what is fitted to it. Amperes, ohms, volts, watts."""

    between_keys = (box_rules.meter,)

    reads: Literal["plate current", "grid current", "plate voltage", "output"] = Field(
        description="What its scale shows"
    )
    movement: MovementAmperes = Field(description="Current of the movement at full scale")
    movement_resistance: MeterOhms = Field(description="Resistance of the movement")
    full_scale: Annotated[float, FullScale()] = Field(
        description="What its last mark is to mean: amperes, volts or watts by what it reads"
    )
    shunt: MeterOhms | None = m.optional("Fitted across the movement, for a current")
    multiplier: MeterOhms | None = m.optional("Fitted in series with the movement, for a voltage")
    resistor_voltage_rating: m.RatedVolts | None = m.optional("Of one resistor of the multiplier")
    resistor_power_rating: m.Watts | None = m.optional("Of one resistor of the shunt or multiplier")

    diodes: StrictBool = m.optional(
        "Whether diodes, one each way, stand across movement and shunt, against arcs", False
    )
