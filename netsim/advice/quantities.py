"""Two numbers side by side, which of them is better, and that in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from netsim.description.formatting import percent
from netsim.verdict.result import PART_NAMES

Leaning = Literal["better", "worse", "same", "differs"]

_RELATIVE = 0.005
_NOTABLE, _STEP = 0.25, 0.02
"""A part used less than a quarter, or whose use moves by less than 2 %, is not worth words."""

_LARGER_IS_BETTER = {"efficiency": True, "output_watt": True, "plate_loads_served": True}
_SMALLER_IS_BETTER = {"harmonic_level_dbc", "used_fraction", "parts", "plate_dissipation_watt"}


@dataclass(frozen=True)
class Quantity:
    """One number of both amplifiers.

    Attributes
    ----------
    name, unit : str
    first, second : float or None
        None where there is none.
    leaning : str
        What the second makes of it: ``better``, ``worse``, ``same`` within half a percent, or ``differs``
        where neither is better as such.
    """

    name: str
    unit: str
    first: float | None
    second: float | None
    leaning: Leaning

    @property
    def difference(self) -> float | None:
        """Second less first."""
        return None if self.first is None or self.second is None else self.second - self.first


@dataclass(frozen=True)
class PartMargin:
    """The worst used fraction of one part in one band, of all its ratings; None where it has none.

    ``first_code`` and ``second_code`` tell which rating it is.
    """

    part: str
    first: float | None
    second: float | None
    first_code: str | None
    second_code: str | None
    leaning: Leaning

    @property
    def notable(self) -> bool:
        """Whether a margin that changes is anywhere near being used up."""
        fractions = self.first or 0.0, self.second or 0.0
        return max(fractions) >= _NOTABLE and abs(fractions[1] - fractions[0]) >= _STEP


@dataclass(frozen=True)
class BandComparison:
    """One band of both amplifiers; `matched` tells of each whether all its frequencies are."""

    name: str
    matched: tuple[bool, bool]
    quantities: tuple[Quantity, ...]
    parts: tuple[PartMargin, ...]


def margin(
    part: str, first: Mapping[str, tuple[float, str]], second: Mapping[str, tuple[float, str]]
) -> PartMargin:
    """Put a part's worst used fractions, by name with the finding's code, side by side."""
    one, other = first.get(part), second.get(part)
    old, new = (None if found is None else found[0] for found in (one, other))
    # Held against the whole rating: half a percent of a use of 0.1 % is nothing.
    leaning = _leaning(old, new, larger=False, scale=max(1.0, old or 0.0, new or 0.0))
    return PartMargin(part, old, new, one and one[1], other and other[1], leaning)


def quantity(
    name: str,
    unit: str,
    first: float | None,
    second: float | None,
    *,
    smaller: bool = False,
    scale: float | None = None,
) -> Quantity:
    """Put two numbers side by side and judge the second.

    ``smaller`` says that less is better; ``scale`` is what a difference is held against, in place of the
    values themselves, for decibels.
    """
    larger = True if name in _LARGER_IS_BETTER else False if smaller or name in _SMALLER_IS_BETTER else None
    return Quantity(name, unit, first, second, _leaning(first, second, larger, scale))


def _leaning(
    first: float | None, second: float | None, larger: bool | None, scale: float | None = None
) -> Leaning:
    """Judge the second value; decibels are held against `scale` instead of themselves."""
    if first is None or second is None:
        return "same" if first is second else "differs"
    step = second - first
    if abs(step) <= _RELATIVE * (scale or max(abs(first), abs(second))):
        return "same"
    if larger is None:
        return "differs"
    return "better" if (step > 0) == larger else "worse"


def words(
    bands: tuple[BandComparison, ...], amplifier: tuple[Quantity, ...]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Say what the second gains and what it loses: bands that it matches, then the parts.

    What a band gives that one of the two does not match is not held against a match, but for its output.
    """
    said = {
        "better": _matches(bands, (False, True), "first"),
        "worse": _matches(bands, (True, False), "second"),
    }
    for quantity in amplifier:
        if quantity.name == "over" and quantity.leaning in said:
            said[quantity.leaning].append(
                f"{quantity.second:.0f} findings over instead of {quantity.first:.0f}"
            )
    alike = [band for band in bands if all(band.matched)]
    for part in PART_NAMES:
        margins = [(band.name, m) for band in alike for m in band.parts if m.part == part and m.notable]
        for side, verb in (("better", "gains margin"), ("worse", "loses margin")):
            there = [(name, m) for name, m in margins if m.leaning == side]
            if there:
                name, worst = max(there, key=lambda entry: entry[1].second or 0.0)
                said[side].append(
                    f"{part.replace('_', ' ')} {verb} on {_listed([n for n, _ in there], len(bands))}: "
                    f"{percent(worst.first or 0)} to {percent(worst.second or 0)} used on {name}"
                )
    for key, noun, form in (
        ("output_watt", "output", "{:.0f} W".format),
        ("efficiency", "efficiency", percent),
        ("harmonic_level_dbc", "worst harmonic", "{:.1f} dBc".format),
    ):
        among = bands if key == "output_watt" else alike
        found = [(b.name, q) for b in among for q in b.quantities if q.name == key]
        for side, kept in said.items():
            moved = [(name, q) for name, q in found if q.leaning == side]
            if moved:
                name, most = max(moved, key=lambda entry: abs(entry[1].difference or 0.0))
                before, after = (form(value) for value in (most.first, most.second))
                where = _listed([n for n, _ in moved], len(bands))
                kept.append(f"{noun} {side} on {where}: {before} to {after} on {name}")
    return tuple(said["better"]), tuple(said["worse"])


def _listed(names: list[str], count: int) -> str:
    return "all bands" if len(names) == count else ", ".join(names)


def _matches(bands: tuple[BandComparison, ...], matched: tuple[bool, bool], lacking: str) -> list[str]:
    """Say which bands one of the two alone matches."""
    names = [band.name for band in bands if band.matched == matched]
    return [f"match: {', '.join(names)}, which the {lacking} does not match everywhere"] if names else []
