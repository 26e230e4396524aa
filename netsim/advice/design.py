"""Coils and paddings for a target loaded Q, where the file leaves them out."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import tomlkit

from netsim.circuit.assembly import assemble
from netsim.circuit.parts import Parts
from netsim.description.models import Amplifier
from netsim.description.reader import Description, interpret
from netsim.errors import Problem, UsageError
from netsim.study import Engine, Study, study

from .change import Edit, difference, quantity_edit, rewritten
from .loaded_q_design import (
    QDefinition,
    coil_for,
    demand_possible,
    first_coil,
    matched,
    middle_resistance,
    output_coil,
)

_DIGITS = 4
_SEARCH = np.geomspace(0.25, 4.0, 400)
_PLACEHOLDER = "1 uH"


@dataclass(frozen=True)
class DesignedBand:
    """What was filled in for one band.

    Attributes
    ----------
    name : str
    coil, output_coil, tune_padding, load_padding : str or None
        As written into the file; None where the file had it, or needs none.
    loaded_q, stored_energy_q : float
        Reached at the band's middle frequency.
    note : str
        Why it is not the target, if it is not.
    """

    name: str
    coil: str | None
    output_coil: str | None
    tune_padding: str | None
    load_padding: str | None
    loaded_q: float
    stored_energy_q: float
    note: str


@dataclass(frozen=True)
class Design:
    """A completed file, solved.

    Attributes
    ----------
    text, diff : str
        The file, comments kept, and the change to it.
    definition : {"loaded", "stored-energy"}
        Of the loaded Q.
    target : float
        Aimed at.
    bands : tuple of DesignedBand
    study : Study
        Of the completed file.
    """

    text: str
    diff: str
    definition: QDefinition
    target: float
    bands: tuple[DesignedBand, ...]
    study: Study


def design(
    text: str,
    shown: str,
    *,
    definition: QDefinition = "loaded",
    target: float | None = None,
    engine: Engine = "both",
) -> Design:
    """Fill in the coils, output coils and paddings that a file leaves out.

    Parameters
    ----------
    text : str
        Of an amplifier file whose bands may lack ``coil``, ``output_coil`` and paddings.
    shown : str
        The file as errors are to name it.
    definition : {"loaded", "stored-energy"}
        Of the loaded Q that is aimed at.
    target : float, optional
        Instead of the file's ``limits.target_loaded_q``.
    engine : {"both", "two-port"}
        Which solvers solve the completed file.

    Returns
    -------
    Design

    Raises
    ------
    UsageError
        ``nothing_to_design``, ``target_loaded_q_too_low`` or ``no_coil_found``.
    DescriptionError, SolveError
        As in `read` and `study`.

    Notes
    -----
    The target is met at the geometric mean of a band's lowest and highest frequency. Where the tune
    capacitor cannot go so low at the upper end, the coil with the nearest loaded Q that it can follow is
    taken, and said so. A padding is the smallest of the stock that brings all settings into range.
    """
    plan = plan_design(text, shown, definition, target)
    written = rewritten(text, plan.edits)
    solved = study(interpret(written, shown), engine=engine)
    filled = {edit.key: str(edit.text) for edit in plan.edits}
    bands = []
    for n, (reached, note) in enumerate(zip(_middle_q(solved), plan.notes, strict=True)):
        name = solved.description.amplifier.bands[n].name
        coil, output, tune, load = (filled.get(f"bands[{n}].{key}") for key in _KEYS)
        bands.append(DesignedBand(name, coil, output, tune, load, *reached, note))
    return Design(written, difference(text, written, shown), definition, plan.target, tuple(bands), solved)


_KEYS = ("coil", "output_coil", "tune_padding", "load_padding")


@dataclass(frozen=True)
class Plan:
    """What a design fills in: edits, the target aimed at, and a note for each band."""

    edits: tuple[Edit, ...]
    target: float
    notes: tuple[str, ...]


def plan_design(text: str, shown: str, definition: QDefinition, target: float | None) -> Plan:
    """Work the missing values out without solving the completed file; parameters and errors of `design`."""
    draft, missing = _draft(text)
    described = interpret(draft, shown)
    amplifier = described.amplifier
    aim = amplifier.limits.target_loaded_q if target is None else target
    if not any(missing):
        raise UsageError(
            Problem(
                "nothing_to_design",
                "every band has its coils: leave out those that are to be designed",
                shown,
            )
        )
    plate_load = assemble(described, [0]).stage.plate_load
    antenna = amplifier.antenna.resistance
    is_pi = amplifier.network.topology == "pi"
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
    try:
        document: Any = tomlkit.parse(text)
    except tomlkit.exceptions.TOMLKitError:
        return text, []  # the reader says it better
    bands = document.get("bands", [])
    network = document.get("network", {})
    keys = ("coil", "output_coil") if network.get("topology") == "pi-L" else ("coil",)
    missing = []
    for band in bands if isinstance(bands, list) else []:
        lacking = {key for key in keys if key not in band and f"{key}_turns" not in band}
        for key in lacking:
            band[key] = _PLACEHOLDER
        missing.append(lacking)
    return (tomlkit.dumps(document) if any(missing) else text), missing


def _band(
    described: Description,
    index: int,
    lacking: set[str],
    sizes: tuple[float, float, float],
    definition: QDefinition,
) -> tuple[list[Edit], str]:
    """Design one band."""
    plate_load, second, aim = sizes
    amplifier = described.amplifier
    band = amplifier.bands[index]
    middle = math.sqrt(min(band.frequencies) * max(band.frequencies))
    edits: list[Edit] = []
    parts = assemble(described, [index]).parts
    if "output_coil" in lacking:
        value = output_coil(plate_load, amplifier.antenna.resistance, middle)
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
    edits += _paddings(amplifier, index, parts) if lacking else []
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


def _paddings(amplifier: Amplifier, index: int, parts: Parts) -> Iterator[Edit]:
    """Fill in the smallest paddings of the stock that bring all settings into range."""
    found = matched(parts, "loaded")
    for side, settings in (("tune", found.tune), ("load", found.load)):
        key = f"{side}_padding"
        part = getattr(amplifier.network, f"{side}_capacitor")
        if getattr(amplifier.bands[index], key) is not None or not np.isfinite(settings).all():
            continue
        lowest, highest = float(settings.min()), float(settings.max())
        if highest <= part.maximum:
            continue
        for value in sorted(amplifier.limits.padding_stock):
            if highest - value <= part.maximum and lowest - value >= part.minimum:
                yield quantity_edit(("bands", index, key), value, "F", _DIGITS)
                break


def _middle_q(solved: Study) -> list[tuple[float, float]]:
    """Take the loaded Q by both definitions at the solved frequency nearest to each band's middle."""
    found = []
    for band in solved.result.bands:
        frequencies = [point.frequency_hertz for point in band.points]
        middle = math.sqrt(min(frequencies) * max(frequencies))
        point = min(band.points, key=lambda p: abs(math.log(p.frequency_hertz / middle)))
        found.append((point.loaded_q, point.stored_energy_q))
    return found
