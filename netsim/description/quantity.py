"""A quantity that a key of the file may hold: its unit, its plausible range, and how it is written.

One `Measure` is at once the pydantic validator of the key, its JSON Schema, and the text of its errors.
"""

import math
from dataclasses import dataclass

from pydantic import ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import PydanticCustomError

from netsim.description.formatting import format_quantity
from netsim.description.limited import Limited, has_limits, parse_limited
from netsim.description.text import Rule, describe, refuse
from netsim.description.trade_units import WORDS
from netsim.description.units import KINDS, SCALES, fail, parse_quantity
from netsim.errors import DescriptionError

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
    "s": "(?:s|seconds?|min|minutes?|h|hours?)",
    "J": "(?:J|joules?)",
}
_WHOLE_PATTERNS = {
    "deg": "(?:\u00b0|deg|degrees?|rad|radians?)",
    "dB": "(?:dBc?)",
    "degC": "(?:(?:deg|\u00b0)C)",
    "1": "",
}
_LONGEST_WORD = 8
"""Longer words of the trade are read, but would swell the schema."""
_NUMBER_PATTERN = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_MARK_PATTERN = r"[ \t]*(?:\u00b1|\+/?-)[ \t]*"
_SPECIAL_PATTERNS = {
    "m": r"(?:#[ ]?[0-9]{1,2}|[0-9]{1,2}[ ]?AWG|(?:[0-9]{1,3}[ ])?[0-9]{1,3}/[1-9][0-9]? ?(?:in|inch))"
}


@dataclass(frozen=True)
class Measure(Rule):
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
    infinite : bool
        Whether it may be infinite as well, written ``"inf"``: a bare 1e400 is infinite, too, to the reader.
    fixed : str
        Why it cannot carry limits; empty if it can.
    """

    unit: str
    least: float
    most: float
    example: str
    infinite: bool = False
    fixed: str = ""

    @property
    def range(self) -> str:
        """The plausible range in words."""
        low, high = (format_quantity(bound, self.unit, trim=True) for bound in (self.least, self.most))
        return f"{low} to {high}"

    def read(self, text: str) -> float:
        """Read what a user wrote as a string; of a value with limits the value alone.

        Returns
        -------
        float
            SI value, radians for an angle.

        Raises
        ------
        DescriptionError
            One problem without position: those of `units.parse_quantity` and `limited.parse_limited`,
            ``wrong_type`` or ``out_of_range``.
        """
        if self.infinite and text.strip() == "inf":
            return math.inf
        if has_limits(text):
            value = self.limits_of(text).nominal
        elif self.unit == "1":
            fail(
                "wrong_type",
                f"a plain number without quotes is wanted, such as {self.example}; found {text!r}",
            )
        else:
            value = parse_quantity(text, self.unit)
        if not self._holds(value):
            fail("out_of_range", f"must be {self.range}; found {text!r}{self._slip(text)}")
        return value

    def limits_of(self, text: str) -> Limited:
        """Read a value with its limits, which may end outside the plausible range. Errors as in `read`."""
        if self.fixed:
            fail(
                "limits_not_allowed",
                f"{text!r}: no limits can stand here, {self.fixed}; write the value alone",
            )
        return parse_limited(text, self.unit)

    @property
    def plausible(self) -> tuple[float, float]:
        """The plausible range as it is held: SI, radians."""
        scale = math.radians(1.0) if self.unit == "deg" else 1.0
        return self.least * scale, self.most * scale

    def admit(self, value: float) -> float:
        """Check an SI value that is a number already. Raises DescriptionError as `read` does."""
        shown = value if self.unit != "deg" else math.degrees(value)
        if self.infinite and value == math.inf:
            return value
        if not math.isfinite(value):
            fail("not_a_number", f"must be a finite number, {self.range}; found {value}")
        if not self._holds(value):
            found = format_quantity(shown, self.unit, digits=6, trim=True)
            fail("out_of_range", f"must be {self.range}; found {found}")
        return value

    def _holds(self, value: float) -> bool:
        low, high = self.plausible
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

    def validate(self, value: object, info: ValidationInfo) -> float:
        """Convert on the way into a model: strings as in the file; numbers as SI, except from a file."""
        try:
            if isinstance(value, str):
                return self.read(value)
            if isinstance(value, bool) or not isinstance(value, int | float):
                wanted = "a number" if self.unit == "1" else "a string with a number and a unit"
                fail("wrong_type", f"{wanted} is wanted, such as {self.as_toml}; found {describe(value)}")
            if self.unit != "1" and info.context == FROM_FILE:
                fail("unit_missing", f"{describe(value)} has no unit; {self._with_unit(value)}")
            if self.infinite and value == math.inf and info.context == FROM_FILE:
                fail(
                    "not_a_number",
                    f'must be a finite number, {self.range}, or "inf" in quotes for no loss at all',
                )
            try:
                return self.admit(float(value))
            except OverflowError:
                fail("not_a_number", f"must be a finite number, {self.range}; found {describe(value)}")
        except DescriptionError as error:
            problem = error.problems[0]
            refuse(problem.code, problem.message)

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

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
        pattern = rf"^[ \t]*{self._pattern}[ \t]*$"
        if self.unit != "1":
            return {
                "type": "string",
                "pattern": pattern,
                "examples": [self.example],
                "range": self.range,
                "unit": self.unit,
            }
        number = {"type": "number", "minimum": self.least, "maximum": self.most}
        texts = [pattern] * (not self.fixed) + ["^inf$"] * self.infinite
        if not texts:
            return {**number, "range": self.range}
        arms = [number, *({"type": "string", "pattern": text} for text in texts)]
        return {"anyOf": arms, "range": self.range}

    @property
    def _pattern(self) -> str:
        """Regular expression of the quantity, with limits where it may have them."""
        word, extra = _word_pattern(self.unit)
        sign = "-" if self.most < 0 else "[+-]?" if self.least < 0 else r"\+?"
        value = rf"{sign}{_NUMBER_PATTERN}"
        alone = rf"(?:{value}[ \t]*{word}{extra})"
        if self.fixed:
            return alone
        share = "" if self.unit in SCALES else "|%"
        half = rf"{_MARK_PATTERN}{_NUMBER_PATTERN}[ \t]*"
        if self.unit == "1":
            return rf"{value}{half}%?"
        return rf"(?:{alone}(?:{half}(?:{word}{share}))?|{value}{half}{word})"


@dataclass(frozen=True)
class OneOrEach(Rule):
    """A quantity that is given once for all frequencies of a band, or as an array with one for each."""

    measure: Measure

    @property
    def as_toml(self) -> str:
        """The example as it stands in a file."""
        return self.measure.as_toml

    def validate(self, value: object, info: ValidationInfo) -> float | tuple[float, ...]:
        """Convert one quantity, or each."""
        if isinstance(value, list | tuple):
            return tuple(self.measure.validate(item, info) for item in value)
        return self.measure.validate(value, info)

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
        one = self.measure.json_schema()
        span = one.pop("range")
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": 1}], "range": span}


@dataclass(frozen=True)
class FullScale(Rule):
    """What the last mark of a meter means, in the unit of what it ``reads``."""

    @property
    def as_toml(self) -> str:
        """An example as it stands in a file."""
        return '"1 A"'

    def validate(self, value: object, info: ValidationInfo) -> float:
        """Convert what the meter reads."""
        reads = info.data.get("reads")
        measures = [_SCALES_OF_METERS[reads]] if reads in _SCALES_OF_METERS else [*_SCALES_OF_METERS.values()]
        for measure in measures[:-1]:  # what it reads is missing: any of them will do
            try:
                return measure.validate(value, info)
            except PydanticCustomError:
                continue
        return measures[-1].validate(value, info)

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
        arms = [m.json_schema() for m in dict.fromkeys(_SCALES_OF_METERS.values())]
        return {"anyOf": [{k: arm[k] for k in ("type", "pattern", "examples")} for arm in arms]}


_MARKED = "a scale is marked with it"
_SCALES_OF_METERS = {
    "plate current": Measure("A", 1e-6, 100, "1 A", fixed=_MARKED),
    "grid current": Measure("A", 1e-6, 100, "200 mA", fixed=_MARKED),
    "plate voltage": Measure("V", 0.1, 50e3, "5 kV", fixed=_MARKED),
    "output": Measure("W", 0.1, 100e3, "1.5 kW", fixed=_MARKED),
}


def _word_pattern(unit: str) -> tuple[str, str]:
    """Regular expressions of a unit, and of a whole figure that is written otherwise."""
    words = [_PREFIX_PATTERN + _ROOT_PATTERNS[unit]] if unit in _ROOT_PATTERNS else []
    words += [_WHOLE_PATTERNS[unit]] if _WHOLE_PATTERNS.get(unit) else []
    short = (word for word in WORDS.get(unit, ()) if len(word) <= _LONGEST_WORD)
    words += ["".join(map(_either_case, word)) for word in short]
    special = _SPECIAL_PATTERNS.get(unit)
    return f"(?:{'|'.join(words)})", f"|{special}" if special else ""


def _either_case(character: str) -> str:
    if character.isascii() and character.isalpha():
        return f"[{character.lower()}{character.upper()}]"
    return f"\\{character}" if character in ".^$*+?()[]{}|\\" else character
