"""How figures stand on old parts, reels and in drawings: mmf, Mc, kVDC, thou, AWG, fractions of an inch."""

import re

NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_SPACES = r"[ \t\u00a0\u2009\u202f]*"

# Divisors and factors apart: x / 1e12 rounds correctly, x * 1e-12 does not.
_PICO, _MICRO, _MILLI = (1.0, 1e12), (1.0, 1e6), (1.0, 1e3)
_ONE, _KILO, _MEGA = (1.0, 1.0), (1e3, 1.0), (1e6, 1.0)
WORDS: dict[str, dict[str, tuple[float, float]]] = {
    "F": {
        **dict.fromkeys(("mmf", "mmfd", "uuf", "uufd"), _PICO),
        **dict.fromkeys(("mfd", "ufd"), _MICRO),
    },
    "H": {"henries": _ONE, "microhenries": _MICRO, "millihenries": _MILLI, "nanohenries": (1.0, 1e9)},
    "Hz": {
        **dict.fromkeys(("mc", "mcs", "mc/s", "megacycles"), _MEGA),
        **dict.fromkeys(("kc", "kcs", "kc/s", "kilocycles"), _KILO),
    },
    "ohm": {**dict.fromkeys(("kilohm", "kilohms"), _KILO), **dict.fromkeys(("megohm", "megohms"), _MEGA)},
    "V": {"vdc": _ONE, "kvdc": _KILO, "mvdc": _MILLI},
    "A": {"adc": _ONE, "madc": _MILLI},
    "m": {
        **dict.fromkeys(("thou", "mil", "mils"), (25.4, 1e6)),
        **dict.fromkeys(('"', "\u2033", "in.", "inches"), (25.4, 1e3)),
    },
    "m^2": {
        **dict.fromkeys(("mm^2", "mm2", "mm\u00b2"), _MICRO),
        **dict.fromkeys(("cm^2", "cm2", "cm\u00b2"), (1.0, 1e4)),
        **dict.fromkeys(("m^2", "m2", "m\u00b2"), _ONE),
        **dict.fromkeys(("in^2", "in2", "in\u00b2", "sq in"), (645.16, 1e6)),
    },
    "J/K": {"j/k": _ONE, "kj/k": _KILO, "ws/k": _ONE},
    "K/W": dict.fromkeys(("k/w", "degc/w", "\u00b0c/w", "c/w"), _ONE),
    "W/(m K)": dict.fromkeys(
        ("w/(m k)", "w/(m*k)", "w/(m\u00b7k)", "w/mk", "w/m/k", "w/m-k", "w/m\u00b7k", "w/m k"), _ONE
    ),
    "A^2 s": dict.fromkeys(("a^2 s", "a^2s", "a2s", "a2 s", "a\u00b2s", "a\u00b2 s"), _ONE),
}
"""For each unit: what it may be called, in small letters; factor and divisor to SI."""

_FIGURE = re.compile(rf"({NUMBER}){_SPACES}(\S.*)")
_DIRECT = re.compile(rf"{_SPACES}dc$", re.IGNORECASE)
_FRACTION = re.compile(
    rf"(?:([0-9]{{1,3}})[ -])?([0-9]{{1,3}})/([1-9][0-9]{{0,2}}){_SPACES}(in\.?|inch(?:es)?|\"|\u2033)"
)
_GAUGE = re.compile(
    r"(?:#[ ]?(?P<number>GAUGE)(?:[ ]?AWG)?|(?P<before>GAUGE)[ ]?AWG|AWG[ ]?#?(?P<behind>GAUGE))".replace(
        "GAUGE", "[0-9]{1,2}|[1-4]/0|0{3,4}"
    ),
    re.IGNORECASE,
)


def read_trade_spelling(text: str, unit: str) -> float | None:
    """Return the SI value of a figure in a spelling of the trade; None if it is in none of them.

    Parameters
    ----------
    text : str
        Without blanks at its ends, of limited length.
    unit : str
        Kind of quantity, by its unit.

    Notes
    -----
    Diameters of the American wire gauge are 0.127 mm x 92^((36 - n) / 39), n = -3 for 4/0 (ASTM B258).
    """
    if unit == "m":
        gauge, fraction = _GAUGE.fullmatch(text), _FRACTION.fullmatch(text)
        if gauge is not None:
            return wire_gauge(gauge["number"] or gauge["before"] or gauge["behind"])
        if fraction is not None:
            whole, over, under = (float(part or 0) for part in fraction.groups()[:3])
            return (whole + over / under) * 25.4 / 1e3
    figure = _FIGURE.fullmatch(text)
    if figure is None:
        return None
    word = figure[2].translate({0xB5: "u", 0x3BC: "u"}).casefold()
    if unit in ("V", "A"):
        word = _DIRECT.sub("dc", word)
    scale = WORDS.get(unit, {}).get(word)
    return None if scale is None else float(figure[1]) * scale[0] / scale[1]


def wire_gauge(number: str) -> float:
    """Return the diameter of a wire of the American gauge [m]; ``2/0``, also written ``00``, is two below 1."""
    step = int(number.lstrip("0") or 1 - len(number)) if "/" not in number else 1 - int(number[0])
    return 0.127e-3 * float(92.0 ** ((36 - step) / 39))
