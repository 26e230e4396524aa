"""What the bench showed: cold matches, outputs, inductances, capacitances. SI floats and complex ohms."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from netsim.description.models import keys as m
from netsim.description.models import measured_rules, rules
from netsim.description.models.observed import (
    ImpedanceRule,
    Observed,
    ObservedRule,
    Uncertainty,
    UncertaintyRule,
)
from netsim.description.models.tables import Table
from netsim.description.quantity import Measure

MOST_READINGS = 500
DEFAULT_SHARE = 0.05
"""Uncertainty of a reading that says none, as a share of it."""
DEFAULT_SWR = 0.05
"""Uncertainty of an SWR that says none."""

PlateResistor = Annotated[float, Measure("ohm", 50, 50e3, "3.3 kohm")]
StrayHenries = Annotated[float, Measure("H", 0, 10e-6, "40 nH")]
LoadOhms = Annotated[float, Measure("ohm", 1, 10e3, "50 ohm")]
Watts = Annotated[Observed, ObservedRule(Measure("W", 1e-3, 100e3, "780 W"))]
Volts = Annotated[Observed, ObservedRule(Measure("V", 0.1, 20e3, "279 V"))]
Deflection = Annotated[Observed, ObservedRule(Measure("1", 1e-6, 1e6, "2.8"))]
Swr = Annotated[Observed, ObservedRule(Measure("1", 1, 1e3, "1.15"))]
Henries = Annotated[Observed, ObservedRule(Measure("H", 1e-9, 5e-3, "2.0 uH"))]
Farads = Annotated[Observed, ObservedRule(Measure("F", 0.1e-12, 100e-9, "139 pF"))]
Q = Annotated[Observed, ObservedRule(Measure("1", 1, 1e5, "240"))]


class Measured(Table):
    """One reading, or of a file one for each of its frequencies in the band."""

    what: Literal["cold match", "output", "inductance", "capacitance"] = Field(
        description="cold match: a resistor from plate to chassis, supply off and discharged, analyser at the antenna "
        "socket; output: at work; inductance: of a coil to a tap, out of circuit; capacitance: in place, coil lifted"
    )
    note: m.Text | None = Field(default=None, description="Free text, one line")
    band: m.Text | None = Field(default=None, description="Cold match, output: name of the band")
    frequency: m.BandHertz | None = Field(
        default=None,
        description="Cold match, output: of the reading; of an inductance or Q where it is known",
    )
    plate_resistor: PlateResistor | None = Field(
        default=None, description="Cold match: what stands in for the tube, from plate to chassis"
    )
    plate_resistor_inductance: StrayHenries = Field(
        default=0.0, description="Cold match: of it and its leads"
    )
    plate_resistor_capacitance: m.SmallFarads = Field(
        default=0.0, description="Cold match: across the resistor"
    )
    tune_dial: m.DialFigure | None = Field(
        default=None, description="Dial of the tune capacitor; this or tune"
    )
    tune: m.VariableFarads | None = Field(default=None, description="Setting of the tune capacitor")
    load_dial: m.DialFigure | None = Field(
        default=None, description="Dial of the load capacitor; this or load"
    )
    load: m.VariableFarads | None = Field(default=None, description="Setting of the load capacitor")
    impedance: Annotated[complex, ImpedanceRule()] | None = Field(
        default=None, description="Cold match: at the antenna socket; this, swr or file"
    )
    swr: Swr | None = Field(
        default=None, description="Cold match: at the antenna socket, against antenna.resistance"
    )
    file: m.OnePortFile | None = Field(
        default=None, description="Cold match: Touchstone file; every frequency in the band is a reading"
    )
    uncertainty: Annotated[Uncertainty, UncertaintyRule()] | None = Field(
        default=None,
        description="Share of the reading, of an SWR a plain number; 5 %, or 0.05 of an SWR, if absent",
    )
    output: Watts | None = Field(default=None, description="Output: power; this, voltage_peak or deflection")
    voltage_peak: Volts | None = Field(
        default=None, description="Output: peak voltage across load_resistance"
    )
    load_resistance: LoadOhms | None = Field(
        default=None, description="Output: what voltage_peak stands across; antenna.resistance if absent"
    )
    deflection: Deflection | None = Field(
        default=None, description="Output: on a screen or meter that shows a voltage; with both references"
    )
    reference_deflection: Deflection | None = Field(default=None, description="Output: on the same screen")
    reference_output: Watts | None = Field(default=None, description="Output: power at reference_deflection")
    plate_voltage: m.PlateVolts | None = Field(
        default=None, description="Output: as the meter stood; that of the stage if absent"
    )
    plate_current: m.Amperes | None = Field(
        default=None, description="Output: as the meter stood; that of the stage if absent"
    )
    coil: Literal["coil", "output_coil"] = Field(default="coil", description="Inductance: of which coil")
    turns: m.Turns | None = Field(
        default=None, description="Inductance: to which tap, in turns from the plate end"
    )
    inductance: Henries | None = Field(default=None, description="Inductance: as the instrument showed it")
    q: Q | None = Field(default=None, description="Inductance: unloaded Q, if the instrument gave one")
    part: Literal["tune_capacitor", "load_capacitor"] | None = Field(
        default=None, description="Capacitance: of which variable capacitor"
    )
    dial: m.DialFigure | None = Field(default=None, description="Capacitance: dial of that capacitor")
    capacitance: Farads | None = Field(default=None, description="Capacitance: stray included")

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce(measured_rules.reading(self))
        return self

    def half_width(self, key: str) -> float:
        """Return how far what stands at a key may be off to either side, in its SI unit.

        Parameters
        ----------
        key : str
            Of a reading that is given: ``impedance`` (of its magnitude), ``swr``, ``output``, ``voltage_peak``,
            ``deflection``, ``reference_deflection``, ``reference_output``, ``inductance``, ``q`` or ``capacitance``.
        """
        given = getattr(self, key)
        if isinstance(given, Observed) and given.half_width is not None:
            return given.half_width
        size = abs(given) if isinstance(given, complex) else float(given.value)
        if self.uncertainty is None:
            return DEFAULT_SWR if key == "swr" else DEFAULT_SHARE * size
        if self.uncertainty.absolute is not None:
            return self.uncertainty.absolute
        return (self.uncertainty.share or 0.0) * size
