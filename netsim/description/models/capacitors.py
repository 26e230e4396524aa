"""Capacitors. Farads, volts peak, amperes rms, volt-amperes, metres."""

from typing import ClassVar

from pydantic import Field

from netsim.description.models import keys as m
from netsim.description.models import rules
from netsim.description.models.tables import Part, Rules

DialPoint = tuple[m.DialFigure, m.DialFarads]
MOST_DIAL_POINTS = 200


class Ratings(Part):
    """What any capacitor may be rated for; the voltage by its maker, or by a gap that can be measured."""

    between_keys: ClassVar[Rules] = (rules.air_gap,)

    q: m.UnloadedQ | None = m.optional("Unloaded Q at the working frequency")
    voltage_rating: m.RatedVolts | None = m.optional("Rated peak voltage")
    air_gap: m.GapOfAirMetres | None = m.optional("Between the plates, in place of voltage_rating")
    altitude: m.AltitudeMetres | None = m.optional(
        "Of the station above sea level, with air_gap: thinner air stands less"
    )
    current_rating: m.RatedAmperes | None = m.optional("Rated current, rms")
    reactive_power_rating: m.VoltAmperes | None = m.optional("Rated reactive power")


class Led(Ratings):
    """A capacitor in leads of its own."""

    lead_inductance: m.LeadHenries = m.optional("Of its leads, in series with it", 0.0)


class FixedCapacitor(Led):
    """The blocking capacitor. Farads, volts peak, amperes rms, volt-amperes."""

    capacitance: m.BlockingFarads = Field(description="Capacitance")


class VariableCapacitor(Led):
    """A tune or load capacitor. Farads, volts peak, amperes rms, volt-amperes."""

    between_keys = (rules.air_gap, rules.variable_capacitor)

    minimum: m.VariableFarads = Field(description="Capacitance at the low end of the range")
    maximum: m.VariableFarads = Field(description="Capacitance at the high end of the range")
    stray: m.SmallFarads | None = m.optional("Stray capacitance to chassis at this node")
    dial: tuple[DialPoint, ...] = Field(
        default=(),
        max_length=MOST_DIAL_POINTS,
        description="Table of dial figure and capacitance, rising or falling throughout; even if absent",
    )


class Padding(Ratings):
    """The fixed capacitors switched across a variable one; their values stand with the bands."""
