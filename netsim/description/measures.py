"""What a single key may hold: its unit, its plausible range, and how it is written in the file.

Ranges catch slips that a dimension check cannot, such as m for M. They are wide: a value inside one is
not thereby sensible.
"""

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

MOST_CHARACTERS = 200


@dataclass(frozen=True)
class Measure:
    """A quantity between two bounds.

    Attributes
    ----------
    unit : str
        Unit of the bounds: an SI unit, ``deg`` (held as radians), ``dB``, or ``1`` for a plain number.
    least, most : float
        Plausible range, both ends allowed.
    example : str
        How somebody would write it.
    """

    unit: str
    least: float
    most: float
    example: str

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self._validate)

    def _validate(self, value: object, info: ValidationInfo) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise PydanticCustomError("wrong_type", "not a number")
        return float(value)


@dataclass(frozen=True)
class TextRule:
    """One line of text of limited length."""

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.str_schema(max_length=MOST_CHARACTERS)


Text = Annotated[str, TextRule()]

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
CoilHenries = Annotated[float, Measure("H", 10e-9, 500e-6, "10.6 uH")]
ChokeHenries = Annotated[float, Measure("H", 1e-6, 50e-3, "220 uH")]
BandHertz = Annotated[float, Measure("Hz", 0.1e6, 60e6, "7.1 MHz")]
ResonanceHertz = Annotated[float, Measure("Hz", 10e3, 1e9, "24.6 MHz")]
Angle = Annotated[float, Measure("deg", 30, 360, "195 deg")]
Level = Annotated[float, Measure("dB", -200, -1, "-43 dB")]
UnloadedQ = Annotated[float, Measure("1", 5, 1e5, "300")]
LoadedQ = Annotated[float, Measure("1", 0.1, 1e3, "12")]
Swr = Annotated[float, Measure("1", 1, 100, "2.0")]
Fraction = Annotated[float, Measure("1", 0.01, 1, "0.9")]
