"""The one pint registry, and the strict gate in front of it.

Units software is too obliging for a file that people type: it takes ``7,1 MHz`` for 71 MHz, ``2k`` for
two Boltzmann constants and evaluates ``9**9**9``. So the text has to be one ASCII number and one word of
letters before the registry sees the word alone.
"""

import functools
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NoReturn

from netsim.description.trade_units import NUMBER, read_trade_spelling
from netsim.errors import DescriptionError, Problem

if TYPE_CHECKING:
    from pint import UnitRegistry

MOST_CHARACTERS = 64
_SPACES = " \t\u00a0\u2009\u202f"
_SIGNS = "\u00b5\u03bc\u03a9\u2126"  # micro sign, mu, omega, ohm sign
_QUANTITY = re.compile(rf"({NUMBER})[{_SPACES}]*([A-Za-z{_SIGNS}]+|°C?|%)")
_BARE_NUMBER = re.compile(NUMBER)
_CLASSES = {
    "A": "360 deg",
    "AB": "180 to 230 deg",
    "AB1": "200 to 230 deg",
    "AB2": "180 to 210 deg",
    "B": "180 deg",
    "C": "90 to 150 deg",
}
"""Usual conduction angles of the classes (common practice, no source)."""
_NOT_SAID_HERE = "whether a figure is peak or rms is the key's to say, the unit stands alone"
_AMPLITUDE = re.compile(r"(?<=[A-Za-z\s])(?:rms|peak|pk|p-p|pp)\.?$", re.IGNORECASE)
_OTHER_GAUGES = ("swg", "ga", "gauge", "bwg")
_SPELLINGS = str.maketrans(
    {"\u03a9": "ohm", "\u2126": "ohm", "\u00b5": "u", "\u03bc": "u", "%": "percent", "\u00b0": "deg"}
)

# Only what an amplifier file can need: 5 ms to build, and no word means something unexpected.
_DEFINITIONS = """
femto- = 1e-15 = f-
pico- = 1e-12 = p-
nano- = 1e-9 = n-
micro- = 1e-6 = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
tera- = 1e12 = T-
pi = 3.141592653589793
meter = [length] = m = metre
second = [time] = s
ampere = [current] = A = amp
gram = [mass] = g
kelvin = [temperature] = K
radian = [] = rad
percent = 0.01
degree = pi / 180 * radian = deg
inch = 25.4 * millimeter = in
foot = 12 * inch = ft
minute = 60 * second = min
hour = 60 * minute = h
hertz = 1 / second = Hz
newton = kilogram * meter / second ** 2 = N
joule = newton * meter = J
watt = joule / second = W
coulomb = ampere * second = C
volt = joule / coulomb = V
weber = volt * second = Wb
farad = coulomb / volt = F
henry = weber / ampere = H
ohm = volt / ampere
siemens = ampere / volt = S
tesla = weber / meter ** 2 = T
volt_ampere = volt * ampere = VA
var = volt * ampere
"""


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its name, its SI unit, the units it may be given in, usual ways to write those."""

    noun: str
    si: str
    roots: tuple[str, ...]
    spellings: tuple[str, ...]


KINDS = {
    "V": Kind("voltage", "volt", ("volt",), ("V", "kV", "mV")),
    "A": Kind("current", "ampere", ("ampere",), ("A", "mA")),
    "W": Kind("power", "watt", ("watt",), ("W", "kW", "mW")),
    "VA": Kind("reactive power", "volt_ampere", ("volt_ampere", "var"), ("VA", "kVA")),
    "F": Kind("capacitance", "farad", ("farad",), ("pF", "nF", "uF")),
    "H": Kind("inductance", "henry", ("henry",), ("uH", "nH", "mH")),
    "Hz": Kind("frequency", "hertz", ("hertz",), ("MHz", "kHz", "Hz")),
    "ohm": Kind("resistance", "ohm", ("ohm",), ("ohm", "kohm")),
    "deg": Kind("angle", "radian", ("degree", "radian"), ("deg",)),
    "m": Kind("length", "metre", ("meter", "inch", "foot"), ("mm", "cm", "inch")),
    "s": Kind("time", "second", ("second", "minute", "hour"), ("s", "ms", "min")),
    "J": Kind("energy", "joule", ("joule",), ("J", "kJ")),
    "m^2": Kind("area", "", (), ("cm^2", "mm^2")),
    "J/K": Kind("heat capacity", "", (), ("J/K", "kJ/K")),
    "K/W": Kind("thermal resistance", "", (), ("K/W",)),
    "W/(m K)": Kind("thermal conductivity", "", (), ("W/(m K)",)),
    "A^2 s": Kind("melting integral", "", (), ("A^2 s",)),
    "1": Kind("plain number", "radian", ("percent",), ("%",)),
}
# Scales without a factor: what they may be called; the number is kept as it is written.
SCALES = {"dB": ("dB", "dBc"), "degC": ("degC", "°C")}
_SCALE_NOUNS = {"dB": "level in dB", "degC": "temperature in degC"}


@functools.cache
def registry() -> "UnitRegistry[float]":
    """Build the registry at first use (pint costs a tenth of a second to import)."""
    from pint import UnitRegistry

    return UnitRegistry(_DEFINITIONS.strip().splitlines())


def parse_quantity(text: str, unit: str) -> float:
    """Read a number with a unit, such as ``"2.6 kV"``.

    Parameters
    ----------
    text : str
        What the user wrote.
    unit : str
        Kind of quantity, by its unit: a key of `KINDS` or of `SCALES`.

    Returns
    -------
    float
        Finite SI value, radians for ``deg``, degrees Celsius for ``degC``. Its size is not judged here.

    Raises
    ------
    DescriptionError
        One problem, without position: ``comma_in_number``, ``not_a_number``, ``unit_missing``,
        ``unit_unknown`` or ``wrong_dimension``.
    """
    shown = repr(text) if len(text) <= MOST_CHARACTERS else f"{text[:MOST_CHARACTERS]!r} ..."
    stripped = text.strip(_SPACES)
    is_short = len(stripped) <= MOST_CHARACTERS
    spelt = read_trade_spelling(stripped, unit) if is_short else None
    if spelt is not None:
        if math.isinf(spelt):
            fail("not_a_number", f"{shown} is too large to be a number; write {_advice(unit)}")
        return spelt
    match = _QUANTITY.fullmatch(stripped) if is_short else None
    if match is None:
        _refuse(stripped, shown, unit)
    number, word = float(match[1]), match[2]
    if number in (float("inf"), float("-inf")):
        fail("not_a_number", f"{shown} is too large to be a number; write {_advice(unit)}")
    if unit in SCALES:
        if word not in SCALES[unit]:
            fail(
                "wrong_dimension",
                f"{with_article(_SCALE_NOUNS[unit])} is wanted, found {shown}; write {_advice(unit)}",
            )
        return number
    factor, divisor = _scale(word, unit)
    return number * factor / divisor


def _refuse(stripped: str, shown: str, unit: str) -> NoReturn:
    """Say what kept the text from being a number and a unit."""
    if unit == "deg" and (angle := _CLASSES.get(stripped.upper().removeprefix("CLASS").strip())):
        fail(
            "not_a_number",
            f"{shown} is a class, of which {angle} is usual (common practice); the total angle of conduction is "
            f"wanted: {_write(unit)}",
        )
    if "," in stripped:
        read = stripped.replace(",", "")
        harm = f" Units software would drop the comma and take it for {read!r}." if len(read) < 40 else ""
        fail(
            "comma_in_number",
            f"{shown} holds a comma.{harm} Write a point for decimals and nothing between thousands; "
            f"{_write(unit)}",
        )
    if len(stripped) <= MOST_CHARACTERS and _AMPLITUDE.search(stripped):
        fail("not_a_number", f"{shown}: {_NOT_SAID_HERE}; {_write(unit)}")
    if len(stripped) <= MOST_CHARACTERS and _BARE_NUMBER.fullmatch(stripped):
        fail("unit_missing", f"{shown} has no unit; write {_advice(unit, stripped)}")
    strange = next((c for c in stripped if not c.isascii() and c not in _SIGNS + _SPACES), None)
    detail = f" ({strange!r}, U+{ord(strange):04X}, cannot stand here)" if strange else ""
    fail("not_a_number", f"{shown} is not a number followed by a unit{detail}; write {_advice(unit)}")


@functools.lru_cache(maxsize=1024)
def _scale(word: str, unit: str) -> tuple[float, float]:
    """Factor and divisor to SI, one of them 1: x / 1e12 rounds correctly, x * 1e-12 does not."""
    kind = KINDS[unit]
    if not kind.roots:
        fail(
            "unit_unknown",
            f"{with_article(kind.noun)} is wanted, {word!r} is no unit of it here: write {_advice(unit)}",
        )
    name = word.translate(_SPELLINGS)
    readings = registry().parse_unit_name(name)
    if not readings:
        meant = [s for s in kind.spellings if s.casefold() == name.casefold()]
        if not meant and f"{name}{unit}" in kind.spellings:
            meant = [f"{name}{unit}"]
        if unit == "F" and name.casefold() == "mf":
            meant = ["uF (microfarad, often mfd on old parts) or pF (mmf, mmfd)"]
        if _AMPLITUDE.search(word):
            fail("not_a_number", f"{word!r}: {_NOT_SAID_HERE}; {_write(unit)}")
        if unit == "m" and name.casefold() in _OTHER_GAUGES:
            fail(
                "unit_unknown",
                f'{word!r}: of wire gauges only the American is read, "14 AWG" or "#14"; give any other in mm',
            )
        hint = f"did you mean {meant[0]}?" if meant else f"write {_advice(unit)}"
        fail("unit_unknown", f"there is no unit {word!r} here; {with_article(kind.noun)} is wanted: {hint}")
    # The unit under the prefix settles the dimension, and tells VA from W and hertz from other rates.
    if readings[0][1] not in kind.roots:
        fail(
            "wrong_dimension",
            f"{with_article(kind.noun)} is wanted, but {word!r} is a unit of something else; {_write(unit)}",
        )
    factor = float(registry().Quantity(1.0, name).to(kind.si).magnitude)
    inverse = round(1.0 / factor)
    return (1.0, float(inverse)) if factor < 1.0 and abs(inverse * factor - 1.0) < 1e-12 else (factor, 1.0)


def with_article(noun: str) -> str:
    """Return a noun with its indefinite article, such as ``an inductance``."""
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _advice(unit: str, number: str = "") -> str:
    """How to write a quantity of this kind, with the number that was given."""
    spellings = SCALES[unit][:1] if unit in SCALES else KINDS[unit].spellings[:2]
    example = number or {"dB": "-43", "degC": "60", "deg": "200"}.get(unit, "1")
    quoted = " or ".join(f'"{example} {spelling}"' for spelling in spellings)
    return quoted if number else f"it like {quoted}"


def _write(unit: str) -> str:
    return f"write {_advice(unit)}"


def fail(code: str, message: str) -> NoReturn:
    """Raise what was wrong with a quantity, without position."""
    raise DescriptionError(Problem(code, message))
