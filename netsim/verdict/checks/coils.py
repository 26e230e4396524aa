"""Wound coils: self-resonance, the wall of a tube, the estimated temperature."""

from collections.abc import Iterator

import numpy as np

from netsim.circuit.coil.conductor import THIN_WALL_SKIN_DEPTHS, resistivity, skin_depth
from netsim.verdict.heat import AMBIENT_CELSIUS
from netsim.verdict.judged import Check, Judged, NotRated, judged, of_band
from netsim.verdict.solved import Solved
from netsim.verdict.wound_coils import hottest

THIRD = 3.0
"""A coil is worked below its self-resonance divided by this (common practice)."""


def self_resonance(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the frequency against a third of the self-resonance, of the active and of the open turns."""
    for name, wound in solved.assembly.wound.items():
        if wound is None:
            continue
        for quantity, resonance in (
            ("self_resonance", wound.tapped.self_resonance),
            ("open_turns_resonance", wound.tapped.free_end_resonance),
        ):
            found = wound.spread(resonance, np.inf)
            used = THIRD * solved.frequency / found
            yield judged(
                Check("self_resonance", name, quantity), solved.frequency, found / THIRD, "Hz", used, 1 / THIRD,
                of_band(solved, f"{name}_turns"), strain=used / THIRD, applies=np.isfinite(found),
            )  # fmt: skip


def tube_wall(solved: Solved) -> Iterator[Judged | NotRated]:
    """Warn where the wall of a tube is thinner than two skin depths."""
    for name, wound in solved.assembly.wound.items():
        if wound is None:
            continue
        part, turns, start = getattr(solved.description.network, name), wound.spread(wound.tapped.turns), 0.0
        for number, section in enumerate(part.winding):
            if section.wall is not None:
                depth = skin_depth(resistivity(section.conducting_metal, part.temperature), solved.frequency)
                wanted = THIN_WALL_SKIN_DEPTHS * depth
                yield judged(
                    Check("tube_wall", name, f"wall_of_section_{number + 1}"),
                    np.full(len(wanted), section.wall), wanted, "m", wanted / section.wall, 1.0,
                    ("network", name, "winding", number, "wall"),
                    applies=wound.used & (turns > start), at_most="close",
                )  # fmt: skip
            start += section.turns


def temperature(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the estimated surface temperature of a coil, close at most: it is an estimate.

    It is worked out where the coil has most loss: in one network of each band.
    """
    for name, wound in solved.assembly.wound.items():
        if wound is None:
            continue
        rating = getattr(solved.description.network, name).temperature_rating
        value = np.full(len(solved.assembly), np.nan)
        loss = np.where(wound.used, solved.stress[name].loss, -np.inf)
        bands = [rows for point in solved.points() for _, _, rows in solved.bands(point)]
        chosen = bands if rating is not None else [np.flatnonzero(solved.assembly.point_index == 0)]
        worst = [int(rows[np.argmax(loss[rows])]) for rows in chosen]
        used = np.array([row for row in worst if wound.used[row]], dtype=np.intp)
        for row, spot in zip(used, hottest(solved, wound, name, used), strict=True):
            if spot is not None:
                value[row] = spot.temperature.middle
        check, known = Check("coil_temperature", name, "surface_temperature"), ~np.isnan(value)
        if rating is None:
            if known.any():
                yield NotRated(check, "degC", ("network", name), value, known)
            continue
        share = (value - AMBIENT_CELSIUS) / (rating - AMBIENT_CELSIUS)
        yield judged(
            check, value, rating, "degC", share, solved.description.limits.close_to_rating,
            ("network", name, "temperature_rating"), applies=known, at_most="close",
        )  # fmt: skip
