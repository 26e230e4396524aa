"""What stands in the way of a tap: the capacitor, stray or padding that cannot go where it should."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from netsim.advice.taps.tap_search import TapSearch
from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.description.formatting import format_quantity
from netsim.verdict.judged import fraction_of_window

Rows = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Obstacle:
    """What keeps a tap from serving.

    Attributes
    ----------
    part : str or None
        ``tune_capacitor``, ``load_capacitor``, ``tune_padding``, ``load_padding``; None where no setting
        whatever matches.
    end : str
        ``minimum``, ``maximum``, ``padding`` or ``stray``: which of its values stands in the way.
    coil_turns, frequency_hertz : float
        The tap and frequency looked at.
    needed_farad, short_farad : float or None
        Setting wanted, and how far the part is from it.
    message : str
        The same in words.
    """

    part: str | None
    end: str
    coil_turns: float
    frequency_hertz: float
    needed_farad: float | None
    short_farad: float | None
    message: str


def strain(parts: Parts, found: TapSearch, rows: Rows) -> FloatArray:
    """Give how far each place is from serving: use of the ranges, shape ``(places, 2, rows)``.

    Order of the second axis: tune, load. Above 1 is out of range; infinite where nothing matches.
    """
    used = []
    for quantity, needed in (("tune", found.tune_needed), ("load", found.load_needed)):
        low, high = (
            np.broadcast_to(getattr(parts, f"{quantity}_{end}"), (len(parts),))[rows]
            for end in ("minimum", "maximum")
        )
        fraction = fraction_of_window(needed[:, rows], low, high)
        used.append(np.where(np.isnan(fraction), np.inf, fraction))
    return np.stack(used, axis=1)


def obstacle(parts: Parts, found: TapSearch, rows: Rows, place: int) -> Obstacle | None:
    """Name what stands in the way at a place of the tap.

    Parameters
    ----------
    parts : Parts
        Of all networks.
    found : TapSearch
        Of all places in all networks.
    rows : ndarray of int
        The networks that the tap has to serve.
    place : int
        Its index.

    Returns
    -------
    Obstacle or None
        None if the place serves.
    """
    at = strain(parts, found, rows)[place]
    if at.max() <= 1:
        return None
    side, column = np.unravel_index(int(np.argmax(at)), at.shape)
    row, quantity = int(rows[column]), ("tune", "load")[side]
    needed = float((found.tune_needed if quantity == "tune" else found.load_needed)[place, row])
    frequency, turns = float(parts.frequency[row]), float(found.turns[place])
    if np.isnan(needed):
        return Obstacle(
            None,
            "",
            turns,
            frequency,
            None,
            None,
            f"at {turns:g} turns no setting of the capacitors matches {_at(frequency)}: the inductance does not suit "
            "this plate load and antenna",
        )
    return _short(parts.take(np.array([row])), quantity, needed, turns, frequency)


def _short(one: Parts, quantity: str, needed: float, turns: float, frequency: float) -> Obstacle:
    low, high = (float(getattr(one, f"{quantity}_{end}")[0]) for end in ("minimum", "maximum"))
    stray, padding = (float(getattr(one, f"{quantity}_{what}")[0]) for what in ("stray", "padding"))
    start = f"at {turns:g} turns {_at(frequency)} wants the {quantity} capacitor at {_farads(needed)}"
    if needed > high:
        short = needed - high
        return Obstacle(
            f"{quantity}_capacitor",
            "maximum",
            turns,
            frequency,
            needed,
            short,
            f"{start}; its maximum of {_farads(high)} stands in the way: {_farads(short)} more padding on the "
            f"{quantity} side would do",
        )
    surplus = low - needed
    # The largest of the three is the first to look at.
    end = max((low, "minimum"), (stray, "stray"), (padding, "padding"))[1]
    part = f"{quantity}_padding" if end == "padding" else f"{quantity}_capacitor"
    beyond = surplus - low - stray - padding
    tube = f", {_farads(beyond)} of it the tube's own" if quantity == "tune" and beyond > 0 else ""
    shares = [f"its minimum of {_farads(low)}", f"stray of {_farads(stray)}"]
    shares += [f"padding of {_farads(padding)}"] if padding else []
    return Obstacle(
        part,
        end,
        turns,
        frequency,
        needed,
        surplus,
        f"{start}; {', '.join(shares[:-1])} and {shares[-1]} stand in the way, together {_farads(surplus)} too much"
        + tube,
    )


def _at(frequency: float) -> str:
    return format_quantity(frequency, "Hz", digits=6, trim=True)


def _farads(value: float) -> str:
    return format_quantity(value, "F")
