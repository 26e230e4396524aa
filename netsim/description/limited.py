"""Quantities with limits, such as ``"320 pF +- 5 %"``: every value between the limits is equally likely.

Rectangular limits as in JCGM 100:2008, 4.3.7.
"""

import math
import re
from typing import NamedTuple, NoReturn

from netsim.description.trade_units import NUMBER
from netsim.description.units import SCALES, parse_quantity
from netsim.errors import DescriptionError, Problem

_MARK = re.compile(r"\u00b1|\+[ \t]?/?[ \t]?[-\u2212]")
_PERCENT = re.compile(rf"({NUMBER})[ \t\u00a0\u2009\u202f]*%")
_NUMBER = re.compile(NUMBER)


class Limited(NamedTuple):
    """A value and the limits it lies between, in SI units, radians or degrees Celsius."""

    nominal: float
    low: float
    high: float


def has_limits(text: str) -> bool:
    """Tell whether limits are given behind a value, well or badly written."""
    return _MARK.search(text) is not None


def parse_limited(text: str, unit: str) -> Limited:
    """Read a quantity with its limits.

    Parameters
    ----------
    text : str
        ``"320 pF +- 5 %"``, ``"5 pF +- 2 pF"``, ``"5 +- 2 pF"`` or, of a plain number, ``"250 +- 20 %"``;
        ``±`` and ``+/-`` mean the same.
    unit : str
        As in `units.parse_quantity`; ``1`` is a plain number.

    Raises
    ------
    DescriptionError
        One problem without position: ``bad_limits``, or those of `units.parse_quantity`.
    """
    shown = repr(text[:64])
    value_text, *rest = (part.strip() for part in _MARK.split(text))
    example = _example(unit)
    if len(rest) != 1:
        _fail(f"{shown} has limits more than once; write them like {example}")
    (limit_text,) = rest
    if not limit_text:
        _fail(f"{shown} says no limits behind the sign; write them like {example}")
    if _NUMBER.fullmatch(value_text) and not _NUMBER.fullmatch(limit_text) and not limit_text.endswith("%"):
        # One unit behind both: "5 +- 2 pF".
        value_text += _NUMBER.sub("", limit_text, count=1)
    percent = _PERCENT.fullmatch(limit_text)
    nominal = _plain(value_text, shown, example) if unit == "1" else parse_quantity(value_text, unit)
    if percent is not None:
        if unit in SCALES:
            _fail(f"{shown}: a share of a {unit} has no meaning; write the limits like {example}")
        half = abs(nominal) * float(percent[1]) / 100.0
    elif unit == "1":
        half = _plain(limit_text, shown, example)
    elif _NUMBER.fullmatch(limit_text):
        _fail(f"{shown}: the limits have no unit; write them like {example}")
    else:
        half = parse_quantity(limit_text, unit)
    if half < 0 or not math.isfinite(nominal) or not math.isfinite(half):
        _fail(f"{shown}: limits are a distance to both sides, 0 or more; write them like {example}")
    return Limited(nominal, nominal - half, nominal + half)


def _plain(text: str, shown: str, example: str) -> float:
    if not _NUMBER.fullmatch(text):
        _fail(f"{shown}: {text!r} is no plain number; write like {example}")
    return float(text)


def _example(unit: str) -> str:
    return {
        "F": '"320 pF +- 5 %" or "5 +- 2 pF"',
        "1": '"250 +- 20 %" or "250 +- 50"',
        "degC": '"60 +- 15 degC"',
        "dB": '"-43 +- 1 dB"',
    }.get(unit, f'"10 +- 2 {unit}" or "10 {unit} +- 5 %"')


def _fail(message: str) -> NoReturn:
    raise DescriptionError(Problem("bad_limits", message))
