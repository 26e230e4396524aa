"""What an instrument showed: a quantity with its own uncertainty, an impedance, an uncertainty alone."""

import re
from dataclasses import dataclass
from typing import NamedTuple

from pydantic import ValidationInfo
from pydantic.json_schema import JsonSchemaValue

from netsim.description.limited import has_limits
from netsim.description.quantity import Measure
from netsim.description.text import Rule, describe, refuse
from netsim.description.trade_units import NUMBER
from netsim.description.units import parse_quantity
from netsim.errors import DescriptionError

_UNSIGNED = NUMBER.removeprefix("[+-]?")
_IMAGINARY = rf"(?:{_UNSIGNED}[ ]*[ij]|[ij][ ]*{_UNSIGNED})"
_IMPEDANCE = re.compile(
    rf"\(?[ ]*(?:(?P<real>[+-]?{_UNSIGNED})[ ]*(?:(?P<sign>[+-])[ ]*(?P<imaginary>{_IMAGINARY}))?"
    rf"|(?P<lone>[+-]?[ ]*{_IMAGINARY}))[ ]*\)?[ ]*(?P<unit>[A-Za-z\u03a9\u2126]+)"
)
MOST_OHMS = 1e6


class Observed(NamedTuple):
    """A value read off an instrument, in SI units, and its half-width if it was given with the value."""

    value: float
    half_width: float | None


class Uncertainty(NamedTuple):
    """Half-width of a reading: a share of it, or in its own unit; one of the two."""

    share: float | None
    absolute: float | None


@dataclass(frozen=True)
class ObservedRule(Rule):
    """A quantity as `Measure` has it, which may be followed by its uncertainty, such as ``780 W +- 5 %``."""

    measure: Measure

    @property
    def as_toml(self) -> str:
        """The example as it stands in a file."""
        return self.measure.as_toml

    def validate(self, value: object, info: ValidationInfo) -> Observed:
        """Return the value, with its half-width if it has one."""
        if isinstance(value, tuple):  # read already; a file holds lists
            return Observed(*value)
        shown = self.measure.validate(value, info)
        if not isinstance(value, str) or not has_limits(value):
            return Observed(shown, None)
        limits = self.measure.limits_of(value)
        half = (limits.high - limits.low) / 2
        if not half:
            refuse(
                "bad_uncertainty", f"{value!r}: no reading is free of uncertainty; give more than 0, or none"
            )
        return Observed(shown, half)

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
        return self.measure.json_schema()


@dataclass(frozen=True)
class ImpedanceRule(Rule):
    """A resistance with a reactance in series, such as ``47 - 6j ohm``, ``47 + j6 ohm`` or ``47 ohm``."""

    as_toml = '"47 - 6j ohm"'

    def validate(self, value: object, info: ValidationInfo) -> complex:
        """Return the impedance [ohm]."""
        if isinstance(value, complex):
            return value
        if not isinstance(value, str):
            refuse("wrong_type", f"a string is wanted, such as {self.as_toml}; found {describe(value)}")
        return parse_impedance(value)

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
        imaginary = _IMAGINARY.replace("[ ]*", " *")
        real = rf"[+-]?{_UNSIGNED}(?: *[+-] *{imaginary})?"
        unit = "(?:[mkM]?(?:[\u03a9\u2126]|ohms?))"
        return {
            "type": "string",
            "pattern": rf"^ *(?:{real}|[+-]? *{imaginary}) *{unit} *$",
            "examples": ["47 - 6j ohm", "47 + j6 ohm", "47 ohm"],
        }


def parse_impedance(text: str) -> complex:
    """Return an impedance [ohm] from its text. Raises PydanticCustomError as validators do."""
    shown = describe(text)
    if has_limits(text):
        refuse("bad_impedance", f"{shown}: give the uncertainty in the key of that name, as a share of |Z|")
    match = _IMPEDANCE.fullmatch(text.strip()) if len(text) <= 64 else None
    if match is None:
        refuse(
            "bad_impedance",
            f'{shown} is no impedance; write resistance and series reactance, "47 - 6j ohm" or "47 + j6 ohm" '
            '(j or i), or the resistance alone, "47 ohm"',
        )
    imaginary = (
        match["lone"] or f"{match['sign']}{match['imaginary']}"
        if match["imaginary"] or match["lone"]
        else "0"
    )
    number = re.sub(r"[ij ]", "", imaginary)
    try:
        scale = parse_quantity(f"1 {match['unit']}", "ohm")
    except DescriptionError as error:
        refuse(error.problems[0].code, error.problems[0].message)
    found = complex(float(match["real"] or 0), float(number)) * scale
    if found.real < 0:
        refuse("bad_impedance", f"{shown}: what is passive has no negative resistance; are the signs right?")
    if not 0 < abs(found) <= MOST_OHMS:
        refuse("bad_impedance", f"{shown}: must not be 0, and at most 1 Mohm")
    return found


@dataclass(frozen=True)
class UncertaintyRule(Rule):
    """How far a reading may be off: a share such as ``"3 %"``, or of an SWR a plain number such as 0.05."""

    as_toml = '"3 %"'

    def validate(self, value: object, info: ValidationInfo) -> Uncertainty:
        """Return the half-width as it was given."""
        if isinstance(value, tuple):  # read already; a file holds lists
            return Uncertainty(*value)
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            refuse("wrong_type", f'a share such as "3 %" is wanted; found {describe(value)}')
        if not isinstance(value, str):
            share, absolute = None, float(value)
        elif (match := re.fullmatch(rf"({NUMBER})[ \t]*%", value.strip())) is not None:
            share, absolute = float(match[1]) / 100, None
        else:
            refuse("bad_uncertainty", f'{describe(value)} is no share of the reading; write it like "3 %"')
        if not 0 < (share or absolute or 0.0) <= 1:
            refuse(
                "bad_uncertainty",
                f"must be above 0 and at most 100 %, of an SWR at most 1; found {describe(value)}",
            )
        return Uncertainty(share, absolute)

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
        share = {"type": "string", "pattern": rf"^[ \t]*\+?{_UNSIGNED}[ \t]*%[ \t]*$", "examples": ["3 %"]}
        return {"anyOf": [share, {"type": "number", "exclusiveMinimum": 0, "maximum": 1}]}
