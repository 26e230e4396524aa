"""A coil as it is wound: sections in series from the plate end, its taps, and where each section lies.

A place on the winding is a number of turns counted from the plate end. That sections can be wound as described
is the file's rules' to say; here only places on the winding are checked, which come in arrays.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.coil.conductor import resistivity as metal_resistivity
from netsim.errors import DescriptionError, Problem

UnusedTurns = Literal["strap", "progressive", "open"]

COPPER_60C = float(metal_resistivity("copper", 60.0))
"""Resistivity of copper at 60 degC [ohm m], the default metal and temperature of a section."""

CLOSEST = 1.1
"""Pitch over conductor below which turns are solved as if this far apart.

Nearer, the gap is a few skin depths at most: the ideal surface current would crowd into it and lose without
bound, which coils that were measured do not (Medhurst's table, pitch 1).
"""

STRAP_INDUCTANCE = 20e-9
"""Of a strap that shorts turns, with its contacts [H] (common practice: 2 to 3 cm of wide strap)."""

_WHOLE = 1e-6


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
    core_loss_share : float
        Of its loss, 0 to 1, what the core has: it goes with the square of the turns in use, the rest, the
        wire's, with the turns.
    """

    turns: float
    inductance_per_turn_squared: float
    unloaded_q: float
    core_loss_share: float = 0.5


Section = Solenoid | Toroid


@dataclass(frozen=True)
class Winding:
    """Sections in series from the plate end, all wound in one sense, and what becomes of the unused turns.

    Attributes
    ----------
    sections : tuple of Solenoid or Toroid
        From the plate end. Solenoids that continue each other (same diameter, pitch, conductor, no gap) are
        one run of turns.
    unused_turns : {"strap", "progressive", "open"}
        Strap: one shorted loop from the tap to the far end. Progressive: each switch segment beyond the tap
        its own loop; segments end at `taps` and at the far end. Open: no loop.
    taps : tuple of float
        Turns of the switch segments, rising.
    lead_inductance, strap_inductance : float
        [H], in series with the active turns, and with each shorted loop; coupled to nothing.
    """

    sections: tuple[Section, ...]
    unused_turns: UnusedTurns = "strap"
    taps: tuple[float, ...] = ()
    lead_inductance: float = 0.0
    strap_inductance: float = STRAP_INDUCTANCE

    @property
    def turns(self) -> float:
        """Turns from end to end."""
        return float(sum(section.turns for section in self.sections))

    @property
    def has_loops(self) -> bool:
        """Whether turns that are not in use are shorted."""
        return self.unused_turns != "open"

    @property
    def loop_edges(self) -> tuple[float, ...]:
        """Fixed edges of what is not in use: segment k is [edge k, edge k+1], less what is active.

        One segment without and with a strap, one for each segment of a progressive switch.
        """
        inner = self.taps if self.unused_turns == "progressive" else ()
        return (0.0, *(tap for tap in inner if tap < self.turns * (1.0 - 1e-12)), self.turns)

    @property
    def toroids(self) -> Iterator[tuple[float, Toroid]]:
        """The sections on ring cores, each with its first turn."""
        start = 0.0
        for section in self.sections:
            if isinstance(section, Toroid):
                yield start, section
            start += section.turns

    def snapped(self, turns: ArrayLike) -> NDArray[np.float64]:
        """Return places of the tap, those within a millionth of a turn of a loop's edge put on it.

        A loop of a rounding error would otherwise be a loop.

        Raises
        ------
        DescriptionError
            A place is not above 0 and on the winding, is a fraction of a turn on a ring core, or shorts a part
            of a core whose other part is in use, which takes all its inductance away.
        """
        turns = np.array(turns, dtype=float)
        _refuse(
            turns,
            ~((turns > 0.0) & (turns <= self.turns * (1.0 + 1e-12))),
            "turns_beyond_winding",
            f"a tap must be above 0 and at most the {self.turns:g} turns of the winding; found",
            "choose a place on the winding or add turns to a section",
        )
        for edge in self.loop_edges:
            turns[np.abs(turns - edge) < _WHOLE] = edge
        for start, toroid in self.toroids:
            inside = (turns > start + _WHOLE) & (turns < start + toroid.turns - _WHOLE)
            _refuse(
                turns,
                inside & (np.abs(turns - start - np.round(turns - start)) > _WHOLE),
                "fraction_on_toroid",
                "a tap on a toroid is at whole turns, since a wire passes through the ring or does not; found",
                "choose a whole turn of it",
            )
            _refuse(
                turns,
                inside & self.has_loops,
                "toroid_shorted",
                "a tap that shorts part of a ring core shorts the part in use with it; found",
                f'tap at {start:g} or {start + toroid.turns:g} turns, or leave unused turns "open"',
            )
        return turns


def _refuse(turns: NDArray[np.float64], where: NDArray[np.bool_], code: str, rule: str, remedy: str) -> None:
    if np.any(where):
        found = np.atleast_1d(turns)[np.atleast_1d(where)][0]
        raise DescriptionError(Problem(code, f"{rule} {found:g}: {remedy}"))


@dataclass(frozen=True)
class PlacedRun:
    """A run with its first turn on the winding, and its axis and place on it [m]."""

    run: Section
    start: float
    axis: int
    place: float

    def local(self, turns: ArrayLike) -> NDArray[np.float64]:
        """Return the turns of this run within [0, turns] of the winding."""
        return np.clip(np.asarray(turns, dtype=float) - self.start, 0.0, self.run.turns)


def place_runs(sections: Sequence[Section]) -> list[PlacedRun]:
    """Return the runs of a winding along their axes; sections that continue each other are one run.

    A run ends where its wire does. Its last turn, if it is only begun, is solved as a ring in the middle of the
    whole turn; where the next run would touch that ring, it stands as much farther off.
    """
    placed: list[PlacedRun] = []
    start, axis, place = 0.0, 0, 0.0
    for run in _joined(sections):
        last = placed[-1].run if placed else None
        if isinstance(run, Toroid) or not isinstance(last, Solenoid) or run.perpendicular:
            axis, place = axis + 1, 0.0
        else:
            place = max(place + run.gap, placed[-1].place + _clearance(last, run))
        placed.append(PlacedRun(run, start, axis, place))
        start += run.turns
        place += run.turns * run.pitch if isinstance(run, Solenoid) else 0.0
    return placed


def _joined(sections: Sequence[Section]) -> list[Section]:
    joined = [sections[0]]
    for section in sections[1:]:
        last = joined[-1]
        if isinstance(last, Solenoid) and isinstance(section, Solenoid) and _continues(last, section):
            joined[-1] = replace(last, turns=last.turns + section.turns)
        else:
            joined.append(section)
    return joined


def _continues(last: Solenoid, following: Solenoid) -> bool:
    one, two = (
        [section.mean_diameter, section.pitch, section.conductor_diameter, section.resistivity]
        for section in (last, following)
    )
    apart = following.perpendicular or following.gap > 0.0
    return not apart and np.allclose(one, two, rtol=1e-9, atol=0.0)


def _clearance(last: Solenoid, following: Solenoid) -> float:
    """From the begin of one run, the nearest begin of the next at which their rings stand clear."""
    ring = (np.ceil(last.turns - 1e-9) - 0.5) * last.pitch
    wires = 0.5 * sum(min(CLOSEST * run.conductor_diameter, run.pitch) for run in (last, following))
    across = 0.5 * (last.mean_diameter - following.mean_diameter)
    return float(ring + np.sqrt(max(wires**2 - across**2, 0.0)) - 0.5 * following.pitch)
