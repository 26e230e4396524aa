"""The numbers behind the two knobs and the tap of each band: what the page's own ladder solver works on."""

import json
from typing import Any

import numpy as np
from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.analysis.held_source import HeldBand, held_bands
from netsim.circuit.elements import Capacitor, DampedInductor, FloatArray, Inductor, Resistor, Termination
from netsim.circuit.ladder import Ladder
from netsim.report.export.json_text import in_script
from netsim.report.notation import band_anchor, part_label
from netsim.verdict.checks.parts import RATINGS, effective_rating, ratings_of
from netsim.verdict.result import PART_NAMES
from netsim.verdict.stress import placements, presence

_BY_POSITION = ("coil", "coil_capacitance", "output_coil", "output_coil_capacitance")
"""Branches whose values are those of the chosen taps."""


def setting_panels(result: Analysis, rows: list[int]) -> Markup:
    """Write the model of every band as JSON fit to stand in a script element; `rows` are what its figures show."""
    models = [_model(result, index, held) for index, held in enumerate(held_bands(result, rows))]
    return Markup(in_script(json.dumps(_shortened(models), separators=(",", ":"))))


def _model(result: Analysis, index: int, held: HeldBand) -> dict[str, Any]:
    solved, limits = result.solved, result.amplifier.description.limits
    assembly, parts, row = held.assembly, held.assembly.parts, held.row
    stage = assembly.stage
    own = slice(held.own, held.own + 1)
    mine = parts.take(own)
    branches = _branches(held.ladder.take(own), float(mine.antenna_delivery(np.ones(1))[0, 0]))
    antenna = float(mine.antenna_resistance[0])
    return {
        "anchor": band_anchor(index),
        "band": result.verdict.bands[index].name,
        "frequency": float(solved.frequency[row]),
        "tube": solved.tube_state is not None,
        "nodes": list(held.ladder.nodes),
        "branches": branches,
        "positions": [_position(held, place, name) for place, name in enumerate(held.positions)],
        "own": held.own,
        "current": [[float(value.real), float(value.imag)] for value in held.current],
        "direct": held.direct,
        "reference": held.reference,
        "supply": float(stage.supply_voltage[0]),
        "duty": float(stage.duty[0]),
        "plateLoad": float(parts.plate_load[0]),
        "chart": float(np.sqrt(parts.plate_load[0] * antenna)),
        "window": list(limits.loaded_q),
        "close": limits.close_to_rating,
        "plateSide": {
            "fixed": float(
                (
                    mine.output_capacitance
                    + mine.plate_choke_capacitance
                    + mine.tune_stray
                    + mine.tune_padding
                )[0]
            ),
            "lead": _one(parts.tune_lead, held.own),
            "choke": _one(parts.plate_choke, held.own),
        },
        "knobs": {
            side: {
                "least": _one(getattr(parts, f"{side}_minimum"), held.own),
                "most": _one(getattr(parts, f"{side}_maximum"), held.own),
                "q": _one(getattr(parts, f"{side}_q"), held.own),
                "set": float(getattr(solved.settings, side)[row]),
            }
            for side in ("tune", "load")
        },
        "parts": _parts(result, held),
    }


def _shortened(value: Any) -> Any:
    """Round every number to what a result true to 1e-6 can notice, with room for resonances."""
    if isinstance(value, float):
        return float(f"{value:.13g}")
    if isinstance(value, dict):
        return {key: _shortened(entry) for key, entry in value.items()}
    return [_shortened(entry) for entry in value] if isinstance(value, list) else value


def _one(values: FloatArray, at: int) -> float | None:
    """Take one value out of an array that may be a scalar; None for infinite."""
    value = float(np.ravel(values)[at if np.size(values) > 1 else 0])
    return value if np.isfinite(value) else None


def _branches(ladder: Ladder, delivery: float) -> list[list[Any]]:
    """List the branches of one network: name, kind, its two nodes, its values."""
    return [
        [branch.name, *_kind(branch.element, delivery, branch.node, branch.to)]
        for branch in ladder.branches
        if bool(presence(branch, 1)[0]) or branch.name in _BY_POSITION
    ]


def _kind(element: object, delivery: float, node: str, to: str | None) -> list[Any]:
    match element:
        case Capacitor(capacitance=value, resistance=loss):
            return ["C", node, to, float(value[0]), float(loss[0])]
        case Inductor(inductance=value, resistance=loss):
            return ["L", node, to, float(value[0]), float(loss[0])]
        case DampedInductor(inductance=value, resistance=loss):
            return ["D", node, to, float(value[0]), float(loss[0])]
        case Resistor(resistance=loss):
            return ["R", node, to, float(loss[0]), delivery]
        case Termination():
            seen = element.impedance_at(np.arange(1.0, 11.0))[0]
            return ["T", node, to, [[float(z.real), float(z.imag)] for z in seen], delivery]
    raise TypeError(element)


def _position(held: HeldBand, place: int, name: str) -> dict[str, Any]:
    """Give the coils at one position of the switch, and what its contacts have of their voltage and current."""
    ladder = held.ladder.take(slice(place, place + 1))
    values = {
        branch.name: _kind(branch.element, 0.0, branch.node, branch.to)[3:]
        for branch in ladder.branches
        if branch.name in _BY_POSITION
    }
    winding = held.assembly.coil
    plain = 1.0 if winding is None or not winding.used[place] else 0.0
    switch = [["coil", plain, plain]]
    for part, wound in held.assembly.wound.items():
        if wound is not None:
            switch.append(
                [part, float(wound.switch_voltage_ratio[place]), float(wound.contact_current_ratio[place])]
            )
    mutual = [float(ladder.mutual_inductance(pair)[0]) for pair in ladder.couplings]
    return {"name": name, "values": values, "switch": switch, "mutual": mutual[0] if mutual else 0.0}


def _parts(result: Analysis, held: HeldBand) -> list[dict[str, Any]]:
    """List what every part is rated for, and where its voltage and current are found."""
    network, found = result.amplifier.description.network, []
    places = placements(held.assembly.parts)
    for name in PART_NAMES:
        part = getattr(network, name)
        place = places.get(name)
        present = name == "band_switch" or (
            place is not None and bool(presence(held.ladder[place.branch], len(held.positions)).any())
        )
        if not present or (name == "band_switch" and part is None):
            continue
        limits = {
            rating.quantity: limit
            for rating in RATINGS
            if rating.case == "matched"
            and rating.key in ratings_of(name)
            and (limit := effective_rating(part, rating.key)) is not None
        }
        found.append(
            {
                "name": name,
                "label": part_label(name),
                "branch": None if place is None else place.branch,
                "supply": place is not None and place.holds_supply,
                "direct": place is not None and place.carries_plate_current,
                "limits": limits,
            }
        )
    return found
