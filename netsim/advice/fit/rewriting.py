"""Fitted values with their new limits, as a file has them."""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from netsim.description.reader import Amplifier

if TYPE_CHECKING:
    from netsim.advice.fit.fit import Unknown

_MOVED = 0.05
"""Share of its limits by which an unknown must have moved, or they narrowed, to be written."""

_PREFIXES = ((1e-12, "p"), (1e-9, "n"), (1e-6, "u"), (1e-3, "m"), (1.0, ""), (1e3, "k"), (1e6, "M"))


def limits_texts(amplifier: Amplifier, unknowns: Sequence["Unknown"]) -> Mapping[str, Any]:
    """Return what the file is to say of the unknowns that readings have changed, by key, such as ``"321 pF +- 4 pF"``.

    That is the middle of the 95 % limits and half their distance, as limits in a file are even to both sides.
    """
    return {u.key: limited_text(u.fitted_low, u.fitted_high, u.unit) for u in unknowns if _is_changed(u)}


def _is_changed(unknown: "Unknown") -> bool:
    width = unknown.high - unknown.low
    middle = (unknown.fitted_low + unknown.fitted_high) / 2
    narrowed = 1 - (unknown.fitted_high - unknown.fitted_low) / (0.95 * width)
    moved = abs(middle - (unknown.low + unknown.high) / 2) / width
    return unknown.told_apart or narrowed > _MOVED or moved > _MOVED


def limited_text(low: float, high: float, unit: str) -> str:
    """Write an SI value that lies between limits: two digits of the limits, as many places of the value.

    Units are those of `Input`; radians are written in degrees.
    """
    if unit == "rad":
        low, high, unit = math.degrees(low), math.degrees(high), "deg"
    middle, half = (low + high) / 2, (high - low) / 2
    scale, prefix = 1.0, ""
    if unit not in ("1", "deg", "degC", "dB"):
        for factor, letter in _PREFIXES:
            if abs(middle) >= factor * 0.9999:
                scale, prefix = factor, letter
    value, reach = middle / scale, max(half / scale, abs(middle / scale) * 1e-6)
    places = 1 - math.floor(math.log10(reach)) if reach > 0 else 4
    step = 10.0**-places
    shown, limits = _plain(value, places), _plain(math.ceil(reach / step - 1e-9) * step, places)
    if unit == "1":
        return f"{shown} +- {limits}"
    return f"{shown} {prefix}{unit} +- {limits} {prefix}{unit}"


def _plain(value: float, places: int) -> str:
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
