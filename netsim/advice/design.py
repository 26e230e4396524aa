"""Coils and paddings for a target loaded Q, where the file leaves them out."""

import math
from dataclasses import dataclass

from netsim.advice.design_plan import plan_design
from netsim.advice.fix.change import rewritten
from netsim.advice.loaded_q_design import (
    QDefinition,
)
from netsim.analysis import Engine, Result, analyse
from netsim.description.reader import loads
from netsim.description.toml_text.rewriting import difference


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
    result : Result
        Of the completed file.
    """

    text: str
    diff: str
    definition: QDefinition
    target: float
    bands: tuple[DesignedBand, ...]
    result: Result


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
        As in `read` and `analyse`.

    Notes
    -----
    The target is met at the geometric mean of a band's lowest and highest frequency. Where the tune
    capacitor cannot go so low at the upper end, the coil with the nearest loaded Q that it can follow is
    taken, and said so. A padding is the smallest of the stock that brings all settings well into range.
    """
    plan = plan_design(text, shown, definition, target)
    written = rewritten(text, plan.edits)
    solved = analyse(loads(written, shown), engine=engine, samples=1)
    filled = {edit.key: str(edit.text) for edit in plan.edits}
    bands = []
    for n, (reached, note) in enumerate(zip(_middle_q(solved), plan.notes, strict=True)):
        name = solved.amplifier.description.bands[n].name
        coil, output, tune, load = (filled.get(f"bands[{n}].{key}") for key in _KEYS)
        bands.append(DesignedBand(name, coil, output, tune, load, *reached, note))
    return Design(written, difference(text, written, shown), definition, plan.target, tuple(bands), solved)


_KEYS = ("coil", "output_coil", "tune_padding", "load_padding")


def _middle_q(solved: Result) -> list[tuple[float, float]]:
    """Take the loaded Q by both definitions at the solved frequency nearest to each band's middle."""
    found = []
    for band in solved.verdict.bands:
        frequencies = [point.frequency_hertz for point in band.points]
        middle = math.sqrt(min(frequencies) * max(frequencies))
        point = min(band.points, key=lambda p: abs(math.log(p.frequency_hertz / middle)))
        found.append((point.loaded_q, point.stored_energy_q))
    return found
