"""What a design fills in: coils for the loaded Q, paddings for the ranges, band by band."""

import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.fix.change import Edit, quantity_edit
from netsim.advice.loaded_q_design import (
    QDefinition,
    coil_for,
    demand_possible,
    first_coil,
    matched,
    middle_resistance,
    output_coil,
)
from netsim.circuit.assembly import assemble
from netsim.circuit.parts import Parts
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier, loads
from netsim.description.toml_text.rewriting import rewrite
from netsim.errors import DescriptionError, Problem, UsageError

_DIGITS = 4
_SEARCH = np.geomspace(0.25, 4.0, 400)
_PLACEHOLDER = "1 uH"


@dataclass(frozen=True)
class Plan:
    """What a design fills in: edits, the target aimed at, and a note for each band."""

    edits: tuple[Edit, ...]
    target: float
    notes: tuple[str, ...]


def plan_design(text: str, shown: str, definition: QDefinition, target: float | None) -> Plan:
    """Work the missing values out without solving the completed file; parameters and errors of `design`."""
    draft, missing = _draft(text)
    described = _completed(draft, text, shown)
    description = described.description
    aim = description.limits.target_loaded_q if target is None else target
    if not any(missing):
        raise UsageError(
            Problem(
                "nothing_to_design",
                "every band has its coils: leave out those that are to be designed",
                shown,
            )
        )
    plate_load = float(assemble(described, bands=[0], points=False).stage.plate_load[0])
    antenna = description.antenna.resistance
    is_pi = description.network.topology == "pi"
    second = antenna if is_pi else middle_resistance(plate_load, antenna)
    demand_possible(aim, plate_load, second, shown)
    edits: list[Edit] = []
    notes = []
    for index, lacking in enumerate(missing):
        found, note = _band(described, index, lacking, (plate_load, second, aim), definition)
        edits += found
        notes.append(note)
    return Plan(tuple(edits), aim, tuple(notes))


def _draft(text: str) -> tuple[str, list[set[str]]]:
    """Put placeholders where coils are missing, and tell where."""
    table = tomllib.loads(text)
    bands, network = table.get("bands"), table.get("network")
    if not isinstance(bands, list) or not isinstance(network, dict):
        return text, []  # the reader says it better
    keys = ("coil", "output_coil") if network.get("topology") == "pi-L" else ("coil",)
    missing = [
        {key for key in keys if key not in band and f"{key}_turns" not in band}
        if isinstance(band, dict)
        else set()
        for band in bands
    ]
    placeholders = [
        (("bands", index, key), _PLACEHOLDER)
        for index, lacking in enumerate(missing)
        for key in sorted(lacking)
    ]
    return rewrite(text, placeholders), missing


def _completed(draft: str, text: str, shown: str) -> Amplifier:
    """Read the draft; mistakes are told with the lines of the text that its owner has."""
    try:
        return loads(draft, shown)
    except DescriptionError as error:
        try:
            loads(text, shown)
        except DescriptionError as own:
            keys = {problem.key for problem in error.problems}
            found = [problem for problem in own.problems if problem.key in keys]
            raise (DescriptionError(*found) if found else error) from None
        raise


def _band(
    described: Amplifier,
    index: int,
    lacking: set[str],
    sizes: tuple[float, float, float],
    definition: QDefinition,
) -> tuple[list[Edit], str]:
    """Design one band."""
    plate_load, second, aim = sizes
    description = described.description
    band = description.bands[index]
    middle = math.sqrt(min(band.frequencies) * max(band.frequencies))
    edits: list[Edit] = []
    parts = assemble(described, bands=[index], points=False).parts
    if "output_coil" in lacking:
        value = output_coil(plate_load, description.antenna.resistance, middle)
        edits.append(quantity_edit(("bands", index, "output_coil"), value, "H", _DIGITS))
        parts = replace(parts, output_coil=np.full(len(parts), edits[-1].value))
    note = ""
    if "coil" in lacking:
        start = replace(parts, coil=np.full(len(parts), first_coil(plate_load, second, aim, middle)))
        at_middle = replace(start.take(np.array([0])), frequency=np.array([middle]))
        coil = float(coil_for(at_middle, aim, definition)[0])
        if math.isnan(coil):
            raise UsageError(
                Problem(
                    "no_coil_found",
                    f"band {band.name!r}: no coil gives a loaded Q of {aim:.3g} with these parts: less stray and "
                    "output capacitance, or another target_loaded_q",
                    described.path,
                )
            )
        followed = _followed(start, at_middle, coil, aim, definition)
        if followed != coil:
            note = "nearest to the target that the tune capacitor can follow over the whole band"
        edits.append(quantity_edit(("bands", index, "coil"), followed, "H", _DIGITS))
        parts = replace(parts, coil=np.full(len(parts), edits[-1].value))
    edits += _paddings(description, index, parts) if lacking else []
    return edits, note


def _followed(parts: Parts, at_middle: Parts, coil: float, aim: float, definition: QDefinition) -> float:
    """Give the coil, or the nearest by loaded Q at which the tune setting stays above its minimum."""
    minimum = float(np.max(parts.tune_minimum))

    def lowest(coils: np.ndarray) -> np.ndarray:
        n, m = len(parts), len(coils)
        scanned = replace(parts.take(np.tile(np.arange(n), m)), coil=np.repeat(coils, n))
        return np.asarray(matched(scanned, "loaded").tune.reshape(m, n).min(axis=1))

    if lowest(np.array([coil]))[0] >= minimum:
        return coil
    coils = coil * _SEARCH
    good = lowest(coils) >= minimum
    if not good.any():
        return coil
    scanned = replace(at_middle.take(np.zeros(len(coils), dtype=np.intp)), coil=coils)
    q = matched(scanned, definition).q
    with np.errstate(invalid="ignore"):
        off = np.where(good & np.isfinite(q), np.abs(np.log(q / aim)), np.inf)
    return float(coils[np.argmin(off)])


def _paddings(description: Description, index: int, parts: Parts) -> Iterator[Edit]:
    """Fill in the smallest paddings of the stock that bring all settings into range, well inside if any does."""
    found = matched(parts, "loaded")
    close = description.limits.close_to_rating
    for side, settings in (("tune", found.tune), ("load", found.load)):
        key = f"{side}_padding"
        part = getattr(description.network, f"{side}_capacitor")
        if getattr(description.bands[index], key) is not None or not np.isfinite(settings).all():
            continue
        lowest, highest = float(settings.min()), float(settings.max())
        if highest <= part.maximum:
            continue
        fitting = [
            (
                not (highest - value <= part.maximum * close and part.minimum <= (lowest - value) * close),
                value,
            )
            for value in description.limits.padding_stock
            if highest - value <= part.maximum and lowest - value >= part.minimum
        ]
        if fitting:
            yield quantity_edit(("bands", index, key), min(fitting)[1], "F", _DIGITS)
