"""Coils, taps and paddings for a target loaded Q, where the file leaves them out."""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from netsim.advice.box.design import box_edits, lacks_box
from netsim.advice.change import Edit, plain_edit, rewritten
from netsim.advice.design_plan import Plan, plan_design
from netsim.advice.loaded_q_design import QDefinition, middle
from netsim.analysis import Analysis, Engine, analyse
from netsim.description.formatting import format_quantity
from netsim.description.key_path import printed_key
from netsim.description.reader import Amplifier, loads
from netsim.description.toml_text.rewriting import difference
from netsim.errors import DescriptionError, Problem, UsageError

_STANDS_FOR_COIL = "1 uH"


@dataclass(frozen=True)
class DesignedBand:
    """What was filled in for one band.

    Attributes
    ----------
    name : str
    coil, output_coil, tune_padding, load_padding : str or None
        As written into the file, a tap as "12 turns"; None where the file had it, or needs none.
    frequency_hertz : float
        Solved, nearest to the band's middle [Hz]: where both Q are.
    loaded_q, stored_energy_q : float
        Reached at the band's middle frequency.
    tuned : bool
        At every frequency of the band.
    note : str
        Why it is not the target, or where it does not tune, if so.
    """

    name: str
    coil: str | None
    output_coil: str | None
    tune_padding: str | None
    load_padding: str | None
    frequency_hertz: float
    loaded_q: float
    stored_energy_q: float
    tuned: bool
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
    result : Analysis
        Of the completed file.
    box : tuple of (str, str)
        Key and value of what was filled in of the box around the network.
    """

    text: str
    diff: str
    definition: QDefinition
    target: float
    bands: tuple[DesignedBand, ...]
    result: Analysis
    box: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Draft:
    """A file that is complete but for coils, in whose place something stands.

    ``lacking`` tells of each band which of ``coil`` and ``output_coil`` it gives neither in henry nor in turns.
    """

    amplifier: Amplifier
    lacking: tuple[frozenset[str], ...]


def draft(text: str, shown: str) -> Draft:
    """Read a file of which bands may leave their coils out; errors are to call it as shown.

    Raises
    ------
    DescriptionError
        For everything else that is wrong, with lines of the text as its owner has it.
    """
    table = tomllib.loads(text)
    bands, network = table.get("bands"), table.get("network")
    if not isinstance(bands, list) or not isinstance(network, dict):
        return Draft(loads(text, shown), ())  # the reader says it better
    keys = ("coil", "output_coil") if network.get("topology") == "pi-L" else ("coil",)
    lacking = tuple(
        frozenset(key for key in keys if key not in band and f"{key}_turns" not in band)
        if isinstance(band, dict)
        else frozenset()
        for band in bands
    )
    edits = [_in_place(network, index, key) for index, some in enumerate(lacking) for key in sorted(some)]
    return Draft(_read(text, edits, shown), lacking)


def _in_place(network: dict[str, Any], index: int, key: str) -> Edit:
    """Stand in for a coil: an inductance, or the far end of the tank coil's winding."""
    coil = network.get(key)
    winding = coil.get("winding") if isinstance(coil, dict) and key == "coil" else None
    turns = [section.get("turns") for section in winding or () if isinstance(section, dict)]
    if turns and all(isinstance(value, int | float) for value in turns):
        return plain_edit(("bands", index, f"{key}_turns"), sum(turns))
    return plain_edit(("bands", index, key), _STANDS_FOR_COIL)


def _read(text: str, edits: list[Edit], shown: str) -> Amplifier:
    """Read the completed text; mistakes are told with the lines of the text that its owner has."""
    if not edits:
        return loads(text, shown)
    try:
        return loads(rewritten(text, edits), shown)
    except DescriptionError as error:
        keys = {problem.key for problem in error.problems}
        try:
            loads(text, shown)
        except DescriptionError as own:
            found = [problem for problem in own.problems if problem.key in keys]
            raise (DescriptionError(*found) if found else error) from None
        raise


def design(
    text: str,
    shown: str,
    *,
    definition: QDefinition = "loaded",
    target: float | None = None,
    engine: Engine = "both",
) -> Design:
    """Fill in coils, taps and paddings, and what the tables of the box leave out.

    Parameters
    ----------
    text, shown : str
        An amplifier file, valid but for bands without ``coil`` or ``coil_turns``, a pi-L's ``output_coil``, or parts
        of the box; and what errors are to call it.
    definition : {"loaded", "stored-energy"}
        Of the loaded Q that is aimed at.
    target : float, optional
        Instead of the file's ``limits.target_loaded_q``.
    engine : {"both", "two-port"}
        Which solvers solve the completed file.

    Raises
    ------
    UsageError
        ``nothing_to_design``, ``target_loaded_q_too_low`` or ``no_coil_found``.
    DescriptionError, SolveError
        As in `read` and `analyse`.

    Notes
    -----
    The target is met at the geometric mean of a band's lowest and highest frequency, by the place of a tap at
    the first. Where the tune capacitor cannot go so low at the upper end, the coil with the nearest loaded Q
    that it can follow is taken, and said so. Parts of the box are preferred numbers (IEC 60063), solved with the
    rest before anything is told. A padding is the smallest of the stock that brings all settings
    well into range.
    """
    started = draft(text, shown)
    limits, bare = started.amplifier.description.limits, lacks_box(started.amplifier.description)
    if not any(started.lacking) and not bare:
        raise UsageError(
            Problem(
                "nothing_to_design",
                "every band has its coils, and no table of the box lacks a part: "
                "leave out those that are to be designed",
                shown,
            )
        )
    plan = Plan((), limits.target_loaded_q if target is None else target, ("",) * len(started.lacking))
    if any(started.lacking):
        plan = plan_design(started.amplifier, started.lacking, definition, target)
    written = rewritten(text, plan.edits)
    box: tuple[Edit, ...] = ()
    if bare:
        box = tuple(box_edits(analyse(loads(written, shown), engine="two-port", samples=1)))
        written = rewritten(written, box)
    solved = analyse(loads(written, shown), engine=engine, samples=1)
    filled = {printed_key(edit.path): edit.text for edit in plan.edits}
    bands = tuple(_band(solved, n, filled, note) for n, note in enumerate(plan.notes))
    parts = tuple((solved.amplifier.key(*edit.path), str(edit.text)) for edit in box)
    return Design(written, difference(text, written, shown), definition, plan.target, bands, solved, parts)


def _band(solved: Analysis, index: int, filled: Mapping[str, object], note: str) -> DesignedBand:
    """Take the loaded Q by both definitions at the solved frequency nearest to the band's middle."""
    band, wanted = solved.verdict.bands[index], middle(solved.amplifier.description.bands[index])
    point = min(band.points, key=lambda p: abs(math.log(p.frequency_hertz / wanted)))
    missed = [format_quantity(p.frequency_hertz, "Hz") for p in band.points if not p.tuned]
    if missed and "could not be tuned" not in note:
        note = f"could not be tuned at {', '.join(missed)}{f'; {note}' if note else ''}"

    def text(key: str) -> str | None:
        value = filled.get(f"bands[{index}].{key}")
        return None if value is None else str(value)

    def coil(key: str) -> str | None:
        turns = filled.get(f"bands[{index}].{key}_turns")
        return text(key) if turns is None else f"{turns:g} turns"

    return DesignedBand(
        band.name,
        coil("coil"),
        coil("output_coil"),
        text("tune_padding"),
        text("load_padding"),
        point.frequency_hertz,
        point.loaded_q,
        point.stored_energy_q,
        not missed,
        note,
    )
