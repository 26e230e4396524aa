"""The measures that keys of the file share: unit, plausible range, example.

The ranges catch slips that a dimension check cannot, such as m for M. They are wide: a value inside one
is not thereby sensible. A key that needs another range gets another name here.
"""

from typing import Annotated, Any, Literal

from pydantic import Field

from netsim.description.file_name import FileNameRule
from netsim.description.quantity import Measure, OneOrEach
from netsim.description.text import TextRule

_FREQUENCY = "a frequency is chosen and not uncertain"
_LIMIT = "it is a limit itself"
_DIAL = "a dial is read and its table measured; put the limits on minimum and maximum"

Pulse = Literal["cosine", "three-halves"]
Text = Annotated[str, TextRule()]
OnePortFile = Annotated[str, FileNameRule(".s1p")]
TwoPortFile = Annotated[str, FileNameRule(".s2p")]
PlateVolts = Annotated[float, Measure("V", 100, 20e3, "2.6 kV")]
MinimumVolts = Annotated[float, Measure("V", 1, 20e3, "380 V")]
DriveVolts = Annotated[float, Measure("V", 0, 5e3, "85 V")]
RatedVolts = Annotated[float, Measure("V", 10, 200e3, "5 kV")]
Amperes = Annotated[float, Measure("A", 1e-3, 20, "520 mA")]
RatedAmperes = Annotated[float, Measure("A", 1e-3, 1e3, "12 A")]
Watts = Annotated[float, Measure("W", 10e-3, 200e3, "600 W")]
VoltAmperes = Annotated[float, Measure("VA", 1, 10e6, "20 kVA")]
PlateOhms = Annotated[float, Measure("ohm", 50, 50e3, "2.83 kohm")]
AntennaOhms = Annotated[float, Measure("ohm", 1, 10e3, "50 ohm")]
SuppressorOhms = Annotated[float, Measure("ohm", 0.1, 100e3, "47 ohm")]
SmallFarads = Annotated[float, Measure("F", 0, 500e-12, "12 pF")]
VariableFarads = Annotated[float, Measure("F", 0.5e-12, 50e-9, "250 pF")]
BlockingFarads = Annotated[float, Measure("F", 10e-12, 1e-6, "1 nF")]
Settings = Annotated[float | tuple[float, ...], OneOrEach(Measure("F", 0.5e-12, 50e-9, "250 pF"))]
CoilHenries = Annotated[float, Measure("H", 10e-9, 500e-6, "10.6 uH")]
ChokeHenries = Annotated[float, Measure("H", 1e-6, 50e-3, "220 uH")]
BandHertz = Annotated[float, Measure("Hz", 0.1e6, 60e6, "7.1 MHz", fixed=_FREQUENCY)]
ResonanceHertz = Annotated[float, Measure("Hz", 10e3, 1e9, "24.6 MHz", fixed=_FREQUENCY)]
MainsHertz = Annotated[float, Measure("Hz", 10, 1e3, "50 Hz", fixed=_FREQUENCY)]
Angle = Annotated[float, Measure("deg", 30, 360, "195 deg")]
Level = Annotated[float, Measure("dB", -200, -1, "-43 dB", fixed=_LIMIT)]
UnloadedQ = Annotated[float, Measure("1", 5, 1e5, "300", infinite=True)]
LoadedQ = Annotated[float, Measure("1", 0.1, 1e3, "12", fixed=_LIMIT)]
Swr = Annotated[float, Measure("1", 1, 100, "2.0")]
Turns = Annotated[float, Measure("1", 0.01, 1e3, "7.5")]
CoilMetres = Annotated[float, Measure("m", 1e-3, 3, "55 mm")]
PitchMetres = Annotated[float, Measure("m", 50e-6, 0.3, "9 mm")]
ConductorMetres = Annotated[float, Measure("m", 50e-6, 50e-3, "6 mm")]
WallMetres = Annotated[float, Measure("m", 10e-6, 20e-3, "1 mm")]
GapMetres = Annotated[float, Measure("m", 0, 3, "15 mm")]
GapOfAirMetres = Annotated[float, Measure("m", 0.1e-3, 50e-3, "1.6 mm")]
AltitudeMetres = Annotated[float, Measure("m", -500, 6e3, "1500 m")]
TurnHenries = Annotated[float, Measure("H", 0.1e-9, 100e-6, "12 nH")]
LeadHenries = Annotated[float, Measure("H", 0, 10e-6, "40 nH")]
CouplingCoefficient = Annotated[float, Measure("1", -0.99, 0.99, "0.05")]
Celsius = Annotated[float, Measure("degC", -40, 250, "60 degC")]
HotCelsius = Annotated[float, Measure("degC", 45, 400, "120 degC")]
Share = Annotated[float, Measure("1", 0, 1, "0.5")]
Allowance = Annotated[float, Measure("1", 0.05, 1, "0.7")]
DutyFraction = Annotated[float, Measure("1", 0.001, 1, "0.4")]
Fraction = Annotated[float, Measure("1", 0.01, 1, "0.9", fixed=_LIMIT)]
StockFarads = Annotated[float, Measure("F", 0.5e-12, 50e-9, "250 pF", fixed=_LIMIT)]
DialFigure = Annotated[float, Measure("1", -1e4, 1e4, "41.5", fixed=_DIAL)]
DialFarads = Annotated[float, Measure("F", 0.5e-12, 50e-9, "139 pF", fixed=_DIAL)]
GridAmperes = Annotated[float, Measure("A", 1e-4, 20, "120 mA")]

InputFarads = Annotated[float, Measure("F", 0.5e-12, 1e-6, "1.2 nF")]

MOST_BANDS = 50
MOST_FREQUENCIES = 1000
MOST_POINTS = 20
MOST_RESONANCES = 50
MOST_STOCK = 100
MOST_SECTIONS = 10
MOST_TAPS = 100
MOST_CURVE_POINTS = 200

PADDING_STOCK = tuple(
    picofarad * 1e-12
    for picofarad in (10, 25, 50, 75, 100, 150, 200, 250, 300, 390, 470, 500, 680, 820, 1000)
)
"""Usual values of fixed transmitting capacitors [F] (common practice, no source)."""


def optional(description: str, default: Any = None) -> Any:
    """Return the field of a key that may be left out: a sentence for the reader, and what holds without it."""
    return Field(default=default, description=description)
