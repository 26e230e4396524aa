"""SI floats as people read them: significant digits, an engineering prefix, the unit's symbol.

Plain ASCII hyphen for minus, so that what is printed can be pasted back into an amplifier file.
"""

import math

NOTHING = "–"
SYMBOLS = {"ohm": "Ω", "degC": "°C"}
_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G", 12: "T"}
_NOISE = {
    "V": 1e-6,
    "A": 1e-9,
    "W": 1e-9,
    "VA": 1e-6,
    "F": 1e-17,
    "H": 1e-13,
    "Hz": 1e-3,
    "ohm": 1e-6,
    "m": 1e-9,
}
"""Of units that take a prefix, what is smaller is what rounding left of nothing, in any amplifier."""


def format_quantity(
    value: float | None, unit: str, *, digits: int | None = None, separator: str = " ", trim: bool = False
) -> str:
    """Write a value for people, such as 1.27e-10 F as ``127 pF``.

    Parameters
    ----------
    value : float or None
        In the unit given, without prefix. What only rounding can have left is written as 0.
    unit : str
        ``V``, ``A``, ``W``, ``VA``, ``F``, ``H``, ``Hz``, ``ohm`` and ``m`` take prefixes; ``dB`` is given to one
        decimal; ``deg`` and ``1`` (a plain number) have no prefix; any other text is a unit without prefix.
    digits : int, optional
        Significant digits; by default three, of a frequency as many of five as it has, so that none is written as
        one beyond the edge of its band.
    separator : str
        Between number and unit, such as a thin no-break space.
    trim : bool
        Leave out zeros that end the decimals, for limits that were given as round numbers.

    Returns
    -------
    str
        ``–`` for None and for what is not a number.
    """
    if value is None or math.isnan(value):
        return NOTHING
    if digits is None:
        digits, trim = (5, True) if unit == "Hz" else (3, trim)
    if math.isinf(value):
        return _join("-∞" if value < 0 else "∞", unit, "", separator)
    if unit == "dB":
        number = f"{value:.1f}"
        return _join(_trimmed(number) if trim else number, unit, "", separator)
    if abs(value) < _NOISE.get(unit, 0.0) or value == 0:
        return _join("0", unit, "", separator)
    exponent = _exponent(value, digits)
    prefix_exponent = _prefix_exponent(exponent, unit)
    decimals = max(digits - 1 - (exponent - prefix_exponent), 0)
    scaled = float(f"{value:.{digits - 1}e}") / 10.0**prefix_exponent
    number = f"{scaled:.{decimals}f}"
    return _join(_trimmed(number) if trim else number, unit, _PREFIXES[prefix_exponent], separator)


def scale_of(value: float, unit: str) -> tuple[float, str]:
    """Return what numbers beside a value are counted in, such as 1e-12 and ``pF`` beside 1.27e-10 F.

    A plain number is counted in 1, without a name.
    """
    exponent = 0 if value == 0 else _prefix_exponent(_exponent(value, 3), unit)
    name = "" if unit == "1" else f"{_PREFIXES[exponent]}{SYMBOLS.get(unit, unit)}"
    return 10.0**exponent, name


def _prefix_exponent(exponent: int, unit: str) -> int:
    return min(max(3 * (exponent // 3), min(_PREFIXES)), max(_PREFIXES)) if unit in _NOISE else 0


def _exponent(value: float, digits: int) -> int:
    """Power of ten of the value once rounded, so that 999.6 counts as 1000; 0 for zero."""
    return int(f"{value:.{digits - 1}e}".partition("e")[2])


def _trimmed(number: str) -> str:
    return number.rstrip("0").rstrip(".") if "." in number else number


def _join(number: str, unit: str, prefix: str, separator: str) -> str:
    if unit == "1":
        return number
    if unit == "deg":
        return f"{number}°"
    return f"{number}{separator}{prefix}{SYMBOLS.get(unit, unit)}"


def percent(used: float | None, separator: str = " ") -> str:
    """Write a used fraction; never as 100 % unless it is exactly that; narrow tables leave the separator out.

    Returns
    -------
    str
        Three significant digits, more where rounding would hide which side of the limit it is; nothing
        finer than a tenth; ``–`` for None.
    """
    if used is None:
        return NOTHING
    if used < 0.001:
        return f"<{separator}0.1{separator}%"
    for digits in range(3, 9):
        text = format_quantity(100 * used, "1", digits=digits)
        if used == 1 or float(text) != 100:
            break
    return f"{text}{separator}%"
