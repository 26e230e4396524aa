"""A coil as it is wound: sections in series from the plate end, its taps, and where each section lies.

A place on the winding is a number of turns counted from the plate end.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.coil.conductor_loss import resistivity as metal_resistivity
from netsim.errors import DescriptionError, Problem

UnusedTurns = Literal["strap", "progressive", "open"]

COPPER_60C = float(metal_resistivity("copper", 60.0))
"""Resistivity of copper at 60 degC [ohm m], the default metal and temperature of a section."""

_WHOLE = 1e-6


def _refuse(code: str, message: str) -> DescriptionError:
    return DescriptionError(Problem(code, message))


@dataclass(frozen=True)
class Solenoid:
    """A single-layer section of round wire or tube.

    Attributes
    ----------
    turns : float
        Above 0, fractions allowed. The section is ``turns * pitch`` long.
    mean_diameter, pitch, conductor_diameter : float
        [m]; the diameter centre to centre of the conductor.
    gap : float
        From the end of the section before [m]; ignored on the first section and on a new axis.
    perpendicular : bool
        The section has an axis of its own and couples to no section before it. Later sections stand on that
        new axis.
    resistivity : float
        [ohm m] at working temperature.
    """

    turns: float
    mean_diameter: float
    pitch: float
    conductor_diameter: float
    gap: float = 0.0
    perpendicular: bool = False
    resistivity: float = COPPER_60C

    def __post_init__(self) -> None:
        """Refuse what cannot be wound."""
        sizes = (self.turns, self.mean_diameter, self.pitch, self.conductor_diameter, self.resistivity)
        if not all(np.isfinite(size) and size > 0.0 for size in sizes):
            message = f"A solenoid needs finite turns, sizes and resistivity above 0; found {sizes}."
            raise _refuse("winding_size", message)
        if self.pitch < self.conductor_diameter * (1.0 - 1e-9):
            message = (
                f"The pitch must be at least the conductor diameter; found {self.pitch * 1e3:g} mm against "
                f"{self.conductor_diameter * 1e3:g} mm. Raise the pitch or the length, or take thinner wire."
            )
            raise _refuse("winding_pitch", message)
        if self.mean_diameter <= self.conductor_diameter:
            message = (
                "The mean diameter, centre to centre, must exceed the conductor diameter; found "
                f"{self.mean_diameter * 1e3:g} mm against {self.conductor_diameter * 1e3:g} mm."
            )
            raise _refuse("winding_diameter", message)
        if not (np.isfinite(self.gap) and self.gap >= 0.0):
            message = f"The gap before a section must be 0 or more; found {self.gap * 1e3:g} mm."
            raise _refuse("winding_gap", message)


@dataclass(frozen=True)
class Toroid:
    """A section on a ring core, coupled to nothing; the next solenoid stands on an axis of its own.

    Attributes
    ----------
    turns : float
        Whole, at least 1.
    inductance_per_turn_squared : float
        [H], the core's figure.
    unloaded_q : float
        Of the section alone, at the working frequency.
    """

    turns: float
    inductance_per_turn_squared: float
    unloaded_q: float

    def __post_init__(self) -> None:
        """Refuse fractions of a turn and sizes that are no sizes."""
        sizes = (self.turns, self.inductance_per_turn_squared, self.unloaded_q)
        if not all(np.isfinite(size) and size > 0.0 for size in sizes):
            message = f"A toroid needs finite turns, inductance and unloaded Q above 0; found {sizes}."
            raise _refuse("winding_size", message)
        _need_whole(np.asarray(self.turns), "The turns of a toroid")


Section = Solenoid | Toroid


def _need_whole(turns: NDArray[np.float64], what: str) -> None:
    """Raise unless all are whole: the wire passes through a ring or does not."""
    fractions = np.abs(turns - np.round(turns)) > _WHOLE
    if np.any(fractions):
        found = turns[fractions].flat[0] if turns.ndim else turns
        message = f"{what} must be whole, since a wire passes through the ring or does not; found {found:g}."
        raise _refuse("winding_toroid_fraction", message)


@dataclass(frozen=True)
class Winding:
    """Sections in series from the plate end, all wound in one sense, and what becomes of the unused turns.

    Attributes
    ----------
    sections : tuple of Solenoid or Toroid
        From the plate end. Solenoids that continue each other (same diameter, pitch, conductor, no gap) are
        one section to every formula.
    unused_turns : {"strap", "progressive", "open"}
        Strap: one shorted loop from the tap to the far end. Progressive: each switch segment beyond the tap
        its own loop; segments end at `taps` and at the far end. Open: no loop.
    taps : tuple of float
        Turns of the switch segments, rising.
    lead_inductance : float
        [H], in series with the active turns, coupled to nothing.
    """

    sections: tuple[Section, ...]
    unused_turns: UnusedTurns = "strap"
    taps: tuple[float, ...] = ()
    lead_inductance: float = 0.0

    def __post_init__(self) -> None:
        """Refuse an empty winding, and taps off the winding or out of order."""
        if not self.sections:
            raise _refuse("winding_empty", "A winding needs at least one section.")
        if self.unused_turns not in ("strap", "progressive", "open"):
            message = f'unused_turns is "strap", "progressive" or "open"; found "{self.unused_turns}".'
            raise _refuse("winding_unused_turns", message)
        if any(later <= earlier for earlier, later in pairwise(self.taps)):
            raise _refuse("winding_taps_order", f"Taps must rise from the plate end; found {self.taps}.")
        if self.taps:
            self.check_turns(self.taps, "taps")

    @property
    def turns(self) -> float:
        """Turns from end to end."""
        return float(sum(section.turns for section in self.sections))

    @property
    def runs(self) -> tuple[Section, ...]:
        """The sections, with solenoids that continue each other joined."""
        joined = [self.sections[0]]
        for section in self.sections[1:]:
            last = joined[-1]
            if isinstance(last, Solenoid) and isinstance(section, Solenoid) and _continues(last, section):
                joined[-1] = replace(last, turns=last.turns + section.turns)
            else:
                joined.append(section)
        return tuple(joined)

    @property
    def loop_edges(self) -> tuple[float, ...]:
        """Fixed edges of the shorted loops; loop k is [edge k, edge k+1], less what is active."""
        if self.unused_turns == "open":
            return ()
        inner = self.taps if self.unused_turns == "progressive" else ()
        return (0.0, *(tap for tap in inner if tap < self.turns * (1.0 - 1e-12)), self.turns)

    def snapped(self, turns: ArrayLike) -> NDArray[np.float64]:
        """Give checked positions, those within a millionth of a turn of a loop's edge put on it.

        A loop of a rounding error would otherwise be a loop. See `check_turns` for the errors.
        """
        self.check_turns(turns)
        turns = np.array(turns, dtype=float)
        for edge in (*self.loop_edges, self.turns):
            turns[np.abs(turns - edge) < _WHOLE] = edge
        return turns

    def check_turns(self, turns: ArrayLike, what: str = "coil_turns") -> None:
        """Raise `DescriptionError` unless all are above 0, on the winding, and whole on a toroid."""
        turns = np.asarray(turns, dtype=float)
        beyond = ~((turns > 0.0) & (turns <= self.turns * (1.0 + 1e-12)))
        if np.any(beyond):
            found = np.atleast_1d(turns)[np.atleast_1d(beyond)][0]
            message = (
                f"{what} must be above 0 and at most the {self.turns:g} turns of the winding; found "
                f"{found:g}. Choose a place on the winding or add turns to a section."
            )
            raise _refuse("winding_turns_beyond", message)
        start = 0.0
        for section in self.sections:
            if isinstance(section, Toroid):
                inside = (turns > start) & (turns < start + section.turns)
                _need_whole(np.where(inside, turns - start, 0.0), f"{what} on a toroid")
            start += section.turns


def _continues(last: Solenoid, following: Solenoid) -> bool:
    same = ("mean_diameter", "pitch", "conductor_diameter", "resistivity")
    return (
        following.gap == 0.0
        and not following.perpendicular
        and all(
            np.isclose(getattr(last, name), getattr(following, name), rtol=1e-9, atol=0.0) for name in same
        )
    )


@dataclass(frozen=True)
class PlacedRun:
    """A run with its first turn on the winding, and its axis and place on it [m]."""

    run: Section
    start: float
    axis: int
    place: float

    def local(self, turns: ArrayLike) -> NDArray[np.float64]:
        """Give the turns of this run within [0, turns] of the winding."""
        return np.clip(np.asarray(turns, dtype=float) - self.start, 0.0, self.run.turns)


def place_runs(winding: Winding) -> list[PlacedRun]:
    """Lay the runs of a winding along their axes."""
    placed: list[PlacedRun] = []
    start, axis, place = 0.0, 0, 0.0
    for run in winding.runs:
        if isinstance(run, Solenoid):
            fresh = not placed or run.perpendicular or isinstance(placed[-1].run, Toroid)
            axis, place = (axis + 1, 0.0) if fresh else (axis, place + run.gap)
            placed.append(PlacedRun(run, start, axis, place))
            place += run.turns * run.pitch
        else:
            axis += 1
            placed.append(PlacedRun(run, start, axis, 0.0))
        start += run.turns
    return placed
