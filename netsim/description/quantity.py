"""A quantity that a key of the file may hold: its unit, its plausible range, and how it is written.

One `Measure` is at once the pydantic validator of the key, its JSON Schema, and the text of its errors.
"""

import math
from dataclasses import dataclass
from typing import Any, NoReturn

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from netsim.description.formatting import format_quantity
from netsim.description.text import describe
from netsim.description.units import KINDS, SCALES, parse_quantity
from netsim.errors import DescriptionError, Problem

FROM_FILE = "from_file"
"""Validation context in which a number without a unit is a mistake, not an SI value."""

_ROUNDING = 1e-9  # a bound that was converted may be off by a rounding error
_PREFIX_PATTERN = "(?:[fpnu\u00b5\u03bcmckMGT]|femto|pico|nano|micro|milli|centi|kilo|mega|giga|tera)?"
_ROOT_PATTERNS = {
    "V": "(?:V|volts?)",
    "A": "(?:A|amps?|amperes?)",
    "W": "(?:W|watts?)",
    "VA": "(?:VA|vars?)",
    "F": "(?:F|farads?)",
    "H": "(?:H|henrys?)",
    "Hz": "(?:Hz|hertz)",
    "ohm": "(?:[\u03a9\u2126]|ohms?)",
    "m": "(?:m|metres?|meters?|in|inch|ft|foot)",
}
_ANGLE_PATTERN = "(?:\u00b0|deg|degrees?|rad|radians?)"
_NUMBER_PATTERN = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"


@dataclass(frozen=True)
class Measure:
    """A quantity between two bounds.

    Attributes
    ----------
    unit : str
        Unit of the bounds: an SI unit, ``deg`` (held as radians), ``dB``, ``degC`` (held as such),
        or ``1`` for a plain number.
    least, most : float
        Plausible range, both ends allowed.
    example : str
        How somebody would write it.
    """

    unit: str
    least: float
    most: float
    example: str

    @property
    def range(self) -> str:
        """The plausible range in words."""
        low, high = (format_quantity(bound, self.unit, trim=True) for bound in (self.least, self.most))
        return f"{low} to {high}"

    def read(self, text: str) -> float:
        """Read what a user wrote as a string.

        Returns
        -------
        float
            SI value, radians for an angle.

        Raises
        ------
        DescriptionError
            One problem without position: those of `units.parse_quantity`, ``wrong_type`` or ``out_of_range``.
        """
        if self.unit == "1":
            self._fail(
                "wrong_type",
                f"a plain number without quotes is wanted, such as {self.example}; found {text!r}",
            )
        value = parse_quantity(text, self.unit)
        if not self._holds(value):
            self._fail("out_of_range", f"must be {self.range}; found {text!r}{self._slip(text)}")
        return value

    def admit(self, value: float) -> float:
        """Check an SI value that is a number already. Raises DescriptionError as `read` does."""
        shown = value if self.unit != "deg" else math.degrees(value)
        if not math.isfinite(value):
            self._fail("not_a_number", f"must be a finite number, {self.range}; found {value}")
        if not self._holds(value):
            found = format_quantity(shown, self.unit, digits=6, trim=True)
            self._fail("out_of_range", f"must be {self.range}; found {found}")
        return value

    def _holds(self, value: float) -> bool:
        scale = math.radians(1.0) if self.unit == "deg" else 1.0
        low, high = self.least * scale, self.most * scale
        return low - abs(low) * _ROUNDING <= value <= high + abs(high) * _ROUNDING

    def _slip(self, text: str) -> str:
        """Say which other spelling would have been plausible, when m and M or a sign were mixed up."""
        swapped = text.translate(str.maketrans("mM", "Mm"))
        for other in (swapped, f"-{text.strip()}"):
            if other == text:
                continue
            try:
                value = parse_quantity(other, self.unit)
            except DescriptionError:
                continue
            if self._holds(value):
                return f"; did you mean {other!r}?"
        return f"; write for example {self.example!r}"

    @staticmethod
    def _fail(code: str, message: str) -> NoReturn:
        raise DescriptionError(Problem(code, message))

    def _validate(self, value: object, info: ValidationInfo) -> float:
        """Convert on the way into a model: strings as in the file; numbers as SI, except from a file."""
        try:
            if isinstance(value, str):
                return self.read(value)
            if isinstance(value, bool) or not isinstance(value, int | float):
                wanted = "a number" if self.unit == "1" else "a string with a number and a unit"
                self._fail(
                    "wrong_type", f"{wanted} is wanted, such as {self.as_toml}; found {describe(value)}"
                )
            if self.unit != "1" and info.context == FROM_FILE:
                self._fail("unit_missing", f"{describe(value)} has no unit; {self._with_unit(value)}")
            return self.admit(_as_float(value))
        except DescriptionError as error:
            problem = error.problems[0]
            raise PydanticCustomError(problem.code, "{rule}", {"rule": problem.message}) from None

    @property
    def as_toml(self) -> str:
        """The example as it stands in a file."""
        return self.example if self.unit == "1" else f'"{self.example}"'

    def _with_unit(self, value: object) -> str:
        number = describe(value)
        if self.unit in SCALES:
            return f'write it as a string, "{number} {self.unit}"'
        either = " or ".join(f'"{number} {unit}"' for unit in KINDS[self.unit].spellings[:2])
        return f"write it as a string with its unit, {either}"

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self._validate)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        if self.unit == "1":
            return {"type": "number", "minimum": self.least, "maximum": self.most, "range": self.range}
        if self.unit == "dB":
            pattern = rf"^[ \t]*-{_NUMBER_PATTERN}[ \t]*dBc?[ \t]*$"
        elif self.unit == "degC":
            pattern = rf"^[ \t]*[+-]?{_NUMBER_PATTERN}[ \t]*(?:deg|\u00b0)C[ \t]*$"
        else:
            word = _ANGLE_PATTERN if self.unit == "deg" else _PREFIX_PATTERN + _ROOT_PATTERNS[self.unit]
            sign = "[+-]?" if self.least < 0 else r"\+?"
            pattern = rf"^[ \t]*{sign}{_NUMBER_PATTERN}[ \t]*{word}[ \t]*$"
        return {
            "type": "string",
            "pattern": pattern,
            "examples": [self.example],
            "range": self.range,
            "unit": self.unit,
        }


def _as_float(value: float) -> float:
    """Give an int of any size as a float, infinite where it does not fit."""
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf
