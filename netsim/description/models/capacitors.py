"""Capacitors. Farads, volts peak, amperes rms, volt-amperes, metres."""

from typing import Self

from pydantic import Field, model_validator

from netsim.description.models import keys as m
from netsim.description.models import rules
from netsim.description.models.tables import Part

DialPoint = tuple[m.DialFigure, m.DialFarads]
MOST_DIAL_POINTS = 200


class Ratings(Part):
    """What any capacitor may be rated for; the voltage by its maker, or by a gap that can be measured."""

    q: m.UnloadedQ | None = Field(default=None, description="Unloaded Q at the working frequency")
    voltage_rating: m.RatedVolts | None = Field(default=None, description="Rated peak voltage")
    air_gap: m.GapOfAirMetres | None = Field(
        default=None, description="Between the plates, in place of voltage_rating"
    )
    altitude: m.AltitudeMetres | None = Field(
        default=None, description="Of the station above sea level, with air_gap: thinner air stands less"
    )
    current_rating: m.RatedAmperes | None = Field(default=None, description="Rated current, rms")
    reactive_power_rating: m.VoltAmperes | None = Field(default=None, description="Rated reactive power")

    @model_validator(mode="after")
    def _check_ratings(self) -> Self:
        rules.enforce(rules.air_gap(self))
        return self


class Led(Ratings):
    """A capacitor in leads of its own."""

    lead_inductance: m.LeadHenries = Field(default=0.0, description="Of its leads, in series with it")


class FixedCapacitor(Led):
    """The blocking capacitor. Farads, volts peak, amperes rms, volt-amperes."""

    capacitance: m.BlockingFarads = Field(description="Capacitance")


class VariableCapacitor(Led):
    """A tune or load capacitor. Farads, volts peak, amperes rms, volt-amperes."""

    minimum: m.VariableFarads = Field(description="Capacitance at the low end of the range")
    maximum: m.VariableFarads = Field(description="Capacitance at the high end of the range")
    stray: m.SmallFarads | None = Field(default=None, description="Stray capacitance to chassis at this node")
    dial: tuple[DialPoint, ...] = Field(
        default=(),
        max_length=MOST_DIAL_POINTS,
        description="Table of dial figure and capacitance, rising or falling throughout; even if absent",
    )

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce([*rules.variable_capacitor(self), *rules.dial(self.dial)])
        return self


class Padding(Ratings):
    """The fixed capacitors switched across a variable one; their values stand with the bands."""
