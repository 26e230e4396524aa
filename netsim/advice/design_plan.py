"""What a design fills in: coils or taps for the loaded Q, paddings for the ranges, band by band."""

import itertools
import math
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.band_changes import places
from netsim.advice.change import Change, Edit, applied, edits_of, plain_edit, quantity_edit
from netsim.advice.loaded_q_design import (
    QDefinition,
    beyond_coil,
    coil_for,
    demand_possible,
    first_coil,
    matched,
    middle,
    output_coil,
)
from netsim.advice.preferred_values import stocked
from netsim.advice.taps.tap_choice import Choice, choices
from netsim.circuit.assembly import assemble
from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.description.models.amplifier import Description
from netsim.description.models.tables import with_value
from netsim.description.reader import Amplifier
from netsim.errors import Problem, UsageError

_DIGITS = 4
_SEARCH = np.geomspace(0.25, 4.0, 400)


@dataclass(frozen=True)
class Plan:
    """What a design fills in: edits, the target aimed at, and a note for each band."""

    edits: tuple[Edit, ...]
    target: float
    notes: tuple[str, ...]


def plan_design(
    amplifier: Amplifier,
    lacking: Sequence[Set[str]],
    definition: QDefinition = "loaded",
    target: float | None = None,
) -> Plan:
    """Work missing coils out, without solving what comes of it.

    Parameters
    ----------
    amplifier : Amplifier
        With something in place of what is missing.
    lacking : sequence of set of str
        Of each band which of ``coil`` and ``output_coil`` is missing. A coil that is wound gets a tap: the place that
        `netsim.advice.taps` would propose.
    definition, target : str, float, optional
        Of the loaded Q that is aimed at, in place of the file's ``limits.target_loaded_q``.

    Raises
    ------
    UsageError
        ``target_loaded_q_too_low`` or ``no_coil_found``.
    DescriptionError
        If the stage cannot run so.
    """
    description = amplifier.description
    aim = description.limits.target_loaded_q if target is None else target
    plate_load = float(assemble(amplifier, bands=[0], points=False).stage.plate_load[0])
    second = beyond_coil(description, plate_load)
    demand_possible(aim, plate_load, second, amplifier.path)
    edits: list[Edit] = []
    for index, some in enumerate(lacking):
        if "output_coil" in some:
            edits.append(_output_coil(amplifier, index, plate_load))
    described = with_value(applied(description, edits), ("limits", "target_loaded_q"), aim)
    notes = [""] * len(lacking)
    placed = _taps(amplifier, described, lacking, definition, notes)
    edits += edits_of(placed)
    described = applied(described, edits_of(placed))
    free = [n for n, some in enumerate(lacking) if "coil" in some and described.bands[n].coil_turns is None]
    if free:
        first = np.array([first_coil(plate_load, second, aim, middle(described.bands[n])) for n in free])
        coils = _coils(amplifier, described, free, first, (aim, definition), notes)
        edits += coils
        described = applied(described, coils)
    edits += _paddings(amplifier, described, [n for n, some in enumerate(lacking) if some])
    return Plan(tuple(edits), aim, tuple(notes))


def _output_coil(amplifier: Amplifier, index: int, plate_load: float) -> Edit:
    """Give the output coil its inductance, or the place on its winding that is nearest to it."""
    description = amplifier.description
    frequency = middle(description.bands[index])
    value = output_coil(plate_load, description.antenna.resistance, frequency)
    part = description.network.output_coil
    if part is None or not part.winding:
        return quantity_edit(("bands", index, "output_coil"), value, "H", _DIGITS)
    key = "output_coil_turns"
    band = description.bands[index].model_copy(update={"output_coil": None, key: part.turns})
    far = assemble(amplifier, description.model_copy(update={"bands": (band,)}), points=False).output_coil
    assert far is not None  # the band counts in turns
    every = places(far.winding, part.tap_step, np.empty(0))
    found = far.at(every, np.full(len(every), frequency)).inductance
    turns = float(every[np.argmin(np.abs(np.log(found / value)))])
    return plain_edit(("bands", index, key), float(f"{turns:.9g}"))


def _taps(
    amplifier: Amplifier,
    described: Description,
    lacking: Sequence[Set[str]],
    definition: QDefinition,
    notes: list[str],
) -> tuple[Change, ...]:
    """Place the taps of bands that count in turns and do not say where."""
    unplaced = frozenset(
        n for n, some in enumerate(lacking) if "coil" in some and described.bands[n].coil_turns is not None
    )
    if not unplaced:
        return ()
    wound = assemble(amplifier, described, points=False).wound
    chosen, _, changes = choices(
        amplifier, _padded(described), wound, unplaced, only=unplaced, definition=definition
    )
    for index in unplaced:
        notes[index] = _note(chosen[index])
    return changes


def _padded(described: Description) -> Description:
    """Let both capacitors reach as far as the largest padding takes them: paddings are filled in afterwards."""
    most = max(map(sum, stocked(described.limits.padding_stock)))
    network = described.network
    wider = {
        name: part.model_copy(update={"maximum": part.maximum + most})
        for name in ("tune_capacitor", "load_capacitor")
        if (part := getattr(network, name))
    }
    return described.model_copy(update={"network": network.model_copy(update=wider)})


def _note(choice: Choice) -> str:
    if choice.turns is None:
        why = "" if choice.obstacle is None else f": {choice.obstacle.message}"
        return f"could not be tuned at any place of the winding{why}"
    return "" if choice.obstacle is None else f"as near to the target as it tunes: {choice.obstacle.message}"


def _coils(
    amplifier: Amplifier,
    described: Description,
    bands: Sequence[int],
    start: FloatArray,
    aim: tuple[float, QDefinition],
    notes: list[str],
) -> list[Edit]:
    """Find the coils of some bands, and note what is to be said of them."""
    assembly = assemble(amplifier, described, bands=bands, points=False)
    place = np.searchsorted(bands, assembly.band_index)
    parts = replace(assembly.parts, coil=start[place])
    first = np.flatnonzero(np.diff(place, prepend=-1))
    at_middle = replace(
        parts.take(first), frequency=np.array([middle(described.bands[index]) for index in bands])
    )
    edits = []
    for n, (index, coil) in enumerate(zip(bands, coil_for(at_middle, *aim).tolist(), strict=True)):
        if math.isnan(coil):
            raise UsageError(
                Problem(
                    "no_coil_found",
                    f"band {described.bands[index].name!r}: no coil gives a loaded Q of {aim[0]:.3g} with these parts: "
                    "less stray and output capacitance, or another target_loaded_q",
                    amplifier.path,
                )
            )
        followed = _followed(parts.take(place == n), at_middle.take(np.array([n])), coil, *aim)
        if followed != coil:
            notes[index] = "nearest to the target that the tune capacitor can follow over the whole band"
        edits.append(quantity_edit(("bands", index, "coil"), followed, "H", _DIGITS))
    return edits


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


def _paddings(amplifier: Amplifier, described: Description, bands: Sequence[int]) -> Iterator[Edit]:
    """Fill in the smallest paddings of the stock that bring all settings into range, well inside if any does."""
    assembly = assemble(amplifier, described, bands=bands, points=False)
    found = matched(assembly.parts, "loaded")
    close = described.limits.close_to_rating
    every = [(len(some), sum(some)) for some in stocked(described.limits.padding_stock)]
    for index, side in itertools.product(bands, ("tune", "load")):
        key, part = f"{side}_padding", getattr(described.network, f"{side}_capacitor")
        settings = getattr(found, side)[assembly.band_index == index]
        if getattr(described.bands[index], key) is not None or not np.isfinite(settings).all():
            continue
        lowest, highest = float(settings.min()), float(settings.max())
        if highest <= part.maximum:
            continue
        fitting = [
            (
                not (highest - value <= part.maximum * close and part.minimum <= (lowest - value) * close),
                pieces,
                value,
            )
            for pieces, value in every
            if highest - value <= part.maximum and lowest - value >= part.minimum
        ]
        if fitting:
            yield quantity_edit(("bands", index, key), min(fitting)[-1], "F", _DIGITS)
