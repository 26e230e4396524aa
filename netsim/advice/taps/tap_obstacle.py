"""What stands in the way of a tap: the capacitor, stray or padding that cannot go where it should."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.taps.tap_search import TapSearch
from netsim.circuit.parts import Parts
from netsim.description.formatting import format_quantity
from netsim.verdict.judged import fraction_of_window


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
    coil_turns, frequency_hertz : float or None, float
        The tap looked at, None for a coil that is given by its inductance, and the frequency.
    needed_farad, short_farad : float or None
        Setting wanted, and how far the part is from it.
    message : str
        The same in words.
    """

    part: str | None
    end: str
    coil_turns: float | None
    frequency_hertz: float
    needed_farad: float | None
    short_farad: float | None
    message: str


def obstacle(searches: Sequence[TapSearch], place: int) -> Obstacle | None:
    """Name what is used most of its range at a place of a tap, by all bands that it has to serve; None if it serves."""
    worst, found = 1.0, None
    for one in searches:
        for side in ("tune", "load"):
            needed = getattr(one, f"{side}_needed")[place]
            low, high = (
                np.broadcast_to(getattr(one.parts, f"{side}_{end}"), needed.shape)
                for end in ("minimum", "maximum")
            )
            used = fraction_of_window(needed, low, high)
            # Where nothing matches at all, neither capacitor is to blame.
            used = np.where(np.isnan(used), np.where(np.isnan(needed), np.inf, _NEGATIVE), used)
            column = int(np.argmax(used))
            if used[column] > worst:
                worst, found = float(used[column]), (one, side, column)
    if found is None:
        return None
    one, side, column = found
    needed = float(getattr(one, f"{side}_needed")[place][column])
    frequency, where = float(one.parts.frequency[column]), _where(one, place, column)
    turns = None if np.isnan(one.turns[place]) else float(one.turns[place])
    if np.isnan(needed):
        words = (
            f"{where} no setting of the capacitors matches {format_quantity(frequency, 'Hz')}: the inductance does "
            "not suit this plate load and antenna"
        )
        return Obstacle(None, "", turns, frequency, None, None, words)
    short = _short(one.parts.take(np.array([column])), side, needed, turns, where)
    return replace(short, message=short.message + _beside(one, place, "load" if side == "tune" else "tune"))


def _beside(one: TapSearch, place: int, side: str) -> str:
    """Say how far the other capacitor is short of the match at the same place, at the frequency that wants most."""
    needed = getattr(one, f"{side}_needed")[place]
    short = float(np.max(needed - getattr(one.parts, f"{side}_maximum")))
    return f"; the {side} capacitor is {_farads(short)} short there as well" if short > 0 else ""


_NEGATIVE = 1e9
"""Use of a range by a setting below nothing."""


def _where(found: TapSearch, place: int, column: int) -> str:
    if np.isnan(found.turns[place]):
        return f"with {format_quantity(float(found.inductance[place, column]), 'H')}"
    return f"at {found.turns[place]:g} turns"


def _short(one: Parts, side: str, needed: float, turns: float | None, where: str) -> Obstacle:
    frequency = float(one.frequency[0])
    low, high, stray, padding = (
        float(getattr(one, f"{side}_{what}")[0]) for what in ("minimum", "maximum", "stray", "padding")
    )
    if needed > high:
        end, short = "maximum", needed - high
        words = f"its maximum of {_farads(high)} stands in the way, {_farads(short)} short"
    else:
        # The largest of the three is the first to look at.
        end, short = max((low, "minimum"), (stray, "stray"), (padding, "padding"))[1], low - needed
        beyond = short - low - stray - padding
        tube = f", {_farads(beyond)} of it the tube's own" if side == "tune" and beyond > 0 else ""
        shares = [f"its minimum of {_farads(low)}", f"stray of {_farads(stray)}"]
        shares += [f"padding of {_farads(padding)}"] if padding else []
        words = f"{', '.join(shares[:-1])} and {shares[-1]} stand in the way: {_farads(short)} too much{tube}"
    part = f"{side}_padding" if end == "padding" else f"{side}_capacitor"
    start = f"{where} {format_quantity(frequency, 'Hz')} wants the {side} capacitor at {_farads(needed)}"
    return Obstacle(part, end, turns, frequency, needed, short, f"{start}; {words}")


def _farads(value: float) -> str:
    return format_quantity(value, "F")
