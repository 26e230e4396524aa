"""What the bench showed: cold matches, outputs, inductances, capacitances. SI floats and complex ohms."""

from typing import Annotated, Literal

from pydantic import Field

from netsim.description.models import keys as m
from netsim.description.models import measured_rules
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

    between_keys = (measured_rules.reading,)

    what: Literal["cold match", "output", "inductance", "capacitance"] = Field(
        description="cold match: a resistor from plate to chassis, supply off and discharged, analyser at the antenna "
        "socket; output: at work; inductance: of a coil to a tap, out of circuit; capacitance: in place, coil lifted"
    )
    note: m.Text | None = m.optional("Free text, one line")
    band: m.Text | None = m.optional("Cold match, output: name of the band")
    frequency: m.BandHertz | None = m.optional(
        "Cold match, output: of the reading; of an inductance or Q where it is known"
    )
    plate_resistor: PlateResistor | None = m.optional(
        "Cold match: what stands in for the tube, from plate to chassis"
    )
    plate_resistor_inductance: StrayHenries = m.optional("Cold match: of it and its leads", 0.0)
    plate_resistor_capacitance: m.SmallFarads = m.optional("Cold match: across the resistor", 0.0)
    tune_dial: m.DialFigure | None = m.optional("Dial of the tune capacitor; this or tune")
    tune: m.VariableFarads | None = m.optional("Setting of the tune capacitor")
    load_dial: m.DialFigure | None = m.optional("Dial of the load capacitor; this or load")
    load: m.VariableFarads | None = m.optional("Setting of the load capacitor")
    impedance: Annotated[complex, ImpedanceRule()] | None = m.optional(
        "Cold match: at the antenna socket; this, swr or file"
    )
    swr: Swr | None = m.optional("Cold match: at the antenna socket, against antenna.resistance")
    file: m.OnePortFile | None = m.optional(
        "Cold match: Touchstone file; every frequency in the band is a reading"
    )
    uncertainty: Annotated[Uncertainty, UncertaintyRule()] | None = m.optional(
        "Share of the reading, of an SWR a plain number; 5 %, or 0.05 of an SWR, if absent"
    )
    output: Watts | None = m.optional("Output: power; this, voltage_peak or deflection")
    voltage_peak: Volts | None = m.optional("Output: peak voltage across load_resistance")
    load_resistance: LoadOhms | None = m.optional(
        "Output: what voltage_peak stands across; antenna.resistance if absent"
    )
    deflection: Deflection | None = m.optional(
        "Output: on a screen or meter that shows a voltage; with both references"
    )
    reference_deflection: Deflection | None = m.optional("Output: on the same screen")
    reference_output: Watts | None = m.optional("Output: power at reference_deflection")
    plate_voltage: m.PlateVolts | None = m.optional("Output: as the meter stood; that of the stage if absent")
    plate_current: m.Amperes | None = m.optional("Output: as the meter stood; that of the stage if absent")
    coil: Literal["coil", "output_coil"] = m.optional("Inductance: of which coil", "coil")
    turns: m.Turns | None = m.optional("Inductance: to which tap, in turns from the plate end")
    inductance: Henries | None = m.optional("Inductance: as the instrument showed it")
    q: Q | None = m.optional("Inductance: unloaded Q, if the instrument gave one")
    part: Literal["tune_capacitor", "load_capacitor"] | None = m.optional(
        "Capacitance: of which variable capacitor"
    )
    dial: m.DialFigure | None = m.optional("Capacitance: dial of that capacitor")
    capacitance: Farads | None = m.optional("Capacitance: stray included")

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
