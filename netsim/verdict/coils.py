"""Findings of wound coils: self-resonance, the wall of a tube, the estimated temperature."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from netsim.circuit.coil.conductor_loss import THIN_WALL_SKIN_DEPTHS, resistivity, skin_depth
from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.description.models.coils import Coil
from netsim.verdict.coil_heat import hottest
from netsim.verdict.heat import AMBIENT_CELSIUS
from netsim.verdict.judgement import Rows, worst
from netsim.verdict.result import Finding, State
from netsim.verdict.solved import Evidence

THIRD = 3.0
"""A coil is worked below its self-resonance divided by this (common practice)."""


@dataclass(frozen=True)
class _Place:
    """A wound coil in one band."""

    evidence: Evidence
    name: str
    part: Coil
    wound: WoundCoil
    index: int
    band: str
    rows: Rows

    @property
    def label(self) -> str:
        return self.name.replace("_", " ")

    def at(self, row: int) -> str:
        return format_quantity(float(self.evidence.frequency[row]), "Hz")

    def finding(
        self,
        code: str,
        state: State,
        row: int,
        quantity: str,
        value: float,
        limit: float,
        unit: str,
        used: float,
        texts: tuple[str, str, str],
        *keys: str | int,
    ) -> Finding:
        message, why, fix = texts
        return Finding(
            code=code,
            state=state,
            case="matched",
            band=self.band,
            frequency_hertz=float(self.evidence.frequency[row]),
            part=self.name,
            quantity=quantity,
            value=value,
            limit=limit,
            unit=unit,
            used_fraction=used,
            message=f"{self.label}: {message}",
            why=why,
            fix="" if state == "pass" else fix,
            line=self.evidence.line("network", self.name, *keys)
            if keys
            else self.evidence.line("bands", self.index, f"{self.name}_turns"),
        )


def findings(evidence: Evidence) -> Iterator[Finding]:
    """Judge every wound coil in every band that counts in turns."""
    for name, wound in evidence.assembly.wound.items():
        part = getattr(evidence.amplifier.description.network, name)
        if wound is None:
            continue
        if part.temperature_rating is None:
            yield from _temperature_not_rated(evidence, name, part, wound)
        for index, band, rows in evidence.bands():
            used = np.intersect1d(rows, wound.rows)
            if used.size:
                place = _Place(evidence, name, part, wound, index, band, used)
                yield from _self_resonance(place)
                yield from _tube_wall(place)
                yield from _temperature(place)


def _self_resonance(place: _Place) -> Iterator[Finding]:
    """Hold the frequency against a third of the self-resonance, of the active and of the open turns."""
    tapped, wound = place.wound.tapped, place.wound
    for quantity, resonance, turns in (
        ("self_resonance", tapped.self_resonance, "turns in use"),
        ("open_turns_resonance", tapped.free_end_resonance, "open turns"),
    ):
        spread: FloatArray = wound.spread(resonance, np.inf)
        used = THIRD * place.evidence.frequency / spread
        row = worst(used, place.rows)
        value, limit = float(place.evidence.frequency[row]), float(spread[row])
        if not np.isfinite(limit):
            continue
        share = float(used[row])
        state: State = "pass" if share <= 1 else "close" if share < THIRD else "over"
        yield place.finding(
            "self_resonance",
            state,
            row,
            quantity,
            value,
            limit / THIRD,
            "Hz",
            share,
            (
                f"{place.at(row)} against a self-resonance of its {turns} near {format_quantity(limit, 'Hz')}",
                "1 / (2 pi sqrt(L C)) with Medhurst's self-capacitance; from a third of it on the capacitance "
                "raises inductance and loss beyond what is computed here, and the voltage of open turns climbs",
                "fewer turns, a smaller diameter or a wider pitch"
                if quantity == "self_resonance"
                else 'short the unused turns: unused_turns = "strap" or "progressive"',
            ),
        )


def _tube_wall(place: _Place) -> Iterator[Finding]:
    """Warn where the wall of a tube is thinner than two skin depths at the band's lowest frequency."""
    row = int(place.rows[np.argmin(place.evidence.frequency[place.rows])])
    frequency, start = float(place.evidence.frequency[row]), 0.0
    turns = float(place.wound.spread(place.wound.tapped.turns)[row])
    for number, section in enumerate(place.part.winding):
        if section.wall is not None and turns > start:
            metal = section.metal or "copper"
            depth = float(skin_depth(resistivity(metal, place.part.temperature), frequency))
            used = THIN_WALL_SKIN_DEPTHS * depth / section.wall
            wall, needed = (format_quantity(x, "m") for x in (section.wall, THIN_WALL_SKIN_DEPTHS * depth))
            yield place.finding(
                "tube_wall",
                "close" if used > 1 else "pass",
                row,
                f"wall_of_section_{number + 1}",
                section.wall,
                THIN_WALL_SKIN_DEPTHS * depth,
                "m",
                used,
                (
                    f"wall of section {number + 1} {wall} at {place.at(row)}, two skin depths are {needed}",
                    "below about two skin depths the current fills the wall and the resistance is more than "
                    "that of solid wire, which is what is computed",
                    f"a wall of {needed} or more",
                ),
                "winding",
                number,
                "wall",
            )
        start += section.turns


def _temperature(place: _Place) -> Iterator[Finding]:
    """Hold the estimated surface temperature against the coil's, close at most: it is an estimate."""
    rating = place.part.temperature_rating
    if rating is None:
        return
    row = worst(place.evidence.stress[place.name].loss, place.rows)
    spot = hottest(place.evidence, place.wound, place.name, row)
    if spot is None:
        return
    found = spot.temperature
    used = (found.middle - AMBIENT_CELSIUS) / (rating - AMBIENT_CELSIUS)
    yield place.finding(
        "coil_temperature",
        "close" if used > place.evidence.amplifier.description.limits.close_to_rating else "pass",
        row,
        "surface_temperature",
        found.middle,
        rating,
        "degC",
        used,
        (
            f"estimated at {found.middle:.0f} °C ({found.low:.0f} to {found.high:.0f}) at {place.at(row)}, "
            f"rated {rating:g} °C",
            spot.why,
            "a draught of air, thicker or tarnished wire, or a wider pitch; first measure, this is an estimate",
        ),
        "temperature_rating",
    )


def _temperature_not_rated(evidence: Evidence, name: str, part: Coil, wound: WoundCoil) -> Iterator[Finding]:
    row = worst(evidence.stress[name].loss, wound.rows)
    spot = hottest(evidence, wound, name, row)
    if spot is None:
        return
    found = spot.temperature
    yield Finding(
        code="coil_temperature",
        state="not_rated",
        case="matched",
        band=None,
        frequency_hertz=None,
        part=name,
        quantity="surface_temperature",
        value=None,
        limit=None,
        unit="degC",
        used_fraction=None,
        message=f"{name.replace('_', ' ')}: no temperature rating in the file, so not judged",
        why=f"estimated at {found.middle:.0f} °C ({found.low:.0f} to {found.high:.0f}) at "
        f"{format_quantity(float(evidence.frequency[row]), 'Hz')}; {spot.why}",
        fix=f'add temperature_rating = "..." under [network.{name}]: what former, joints and solder bear',
        line=evidence.line("network", name),
    )
