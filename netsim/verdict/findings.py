"""All findings of an amplifier, worst first, and the result they belong to."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.errors import NotFiniteError, Problem
from netsim.verdict.assumptions import assumptions
from netsim.verdict.box.box_result import box_of
from netsim.verdict.checks import checks
from netsim.verdict.checks.every import ALL, Rule
from netsim.verdict.judged import Judged, NotRated, number
from netsim.verdict.notes import notes
from netsim.verdict.points import bands_of, stage_of, tube_of
from netsim.verdict.result import (
    SCHEMA_VERSION,
    Finding,
    Note,
    OperatingPointResult,
    Provenance,
    State,
    Verdict,
)
from netsim.verdict.solved import Solved
from netsim.verdict.spread import Place, Spread, Spreads
from netsim.verdict.words import text_of, unrated_text_of

WHATEVER_THE_STAGE = ("choke_resonance", "self_resonance", "tube_wall")
"""What no operating point changes is told once, of the stage as it stands."""

_NOTHING_SAMPLED: Mapping[Place, Spread] = {}

STATES: tuple[State, ...] = ("over", "close", "not_rated", "pass")

Identity = tuple[str, str | None, str, str, str, str | None]


def findings(
    solved: Solved, spreads: Mapping[Place, Spread] = _NOTHING_SAMPLED, rules: tuple[Rule, ...] = ALL
) -> tuple[Finding, ...]:
    """Return every finding, ordered by state and then by how far the limit is used.

    Parameters
    ----------
    solved : Solved
        At the stage as it stands in the file and at all operating points.
    spreads : mapping of Place to Spread
        How far the limits of what is known let them vary, of those that were sampled.
    rules : tuple of callable
        Which of the rules.

    Returns
    -------
    tuple of Finding
        Over first; within a state what has no fraction first, then the highest fraction. One for each check,
        band and operating point: its worst network. What no operating point changes is told once.

    Raises
    ------
    NotFiniteError
        If what is to be judged, or printed of any network, is no number: that is never a pass.
    """
    _demand_numbers(solved)
    found: list[Finding] = []
    for judged in checks(solved, rules):
        if isinstance(judged, NotRated):
            found.append(_not_rated(solved, judged))
        else:
            check = judged.check
            what = f"{check.code} ({check.quantity} of {check.part}, {check.case})"
            _refuse(solved, what, judged.undefined)
            found += _worst(solved, judged, spreads)
    return tuple(sorted(found, key=_severity))


def _demand_numbers(solved: Solved) -> None:
    """Demand that what is printed of every network is finite."""
    shown = {
        "plate impedance": solved.plate_impedance,
        "loaded Q": solved.loaded_q,
        "stored-energy Q": solved.stored_energy_q,
        "efficiency": solved.efficiency,
        "output": solved.output_power,
        "plate dissipation": solved.current.dissipation,
    }
    for name, stress in solved.stress.items():
        for quantity in ("voltage_peak", "current_rms", "loss"):
            values = getattr(stress, quantity)
            shown[f"{quantity} of {name}"] = np.where(stress.present, values, 0.0)
    if solved.any_antenna is not None:
        shown["output (any_antenna)"] = solved.any_antenna.output_power.sum(axis=1)
    for what, values in shown.items():
        _refuse(solved, what, ~np.isfinite(values))


def _refuse(solved: Solved, what: str, wrong: BoolArray) -> None:
    """Raise for the first network in which something is no number."""
    if not wrong.any():
        return
    row = int(np.argmax(wrong))
    band = int(solved.assembly.band_index[row])
    raise NotFiniteError(
        Problem(
            "not_finite",
            f"{what} is no number in band {solved.description.bands[band].name!r} at "
            f"{solved.frequency[row] / 1e6:g} MHz, so it cannot be judged and nothing is reported; please report "
            "this with the file",
            solved.amplifier.path,
            solved.line("bands", band),
        )
    )


def _worst(solved: Solved, judged: Judged, spreads: Mapping[Place, Spread]) -> Iterator[Finding]:
    """Build the finding of each band and operating point from its worst network."""
    if judged.whole:
        yield _finding(solved, judged, 0, None, None)
        return
    for point in solved.points():
        if point and judged.check.code in WHATEVER_THE_STAGE:
            continue
        for index, band, rows in solved.bands(point):
            rows = rows[judged.applies[rows]]
            if rows.size:
                row, name = judged.worst(rows), solved.point_names[point]
                spread = spreads.get((judged.check, index, point))
                yield _finding(solved, judged, row, band, name, spread)


def _finding(
    solved: Solved,
    judged: Judged,
    row: int,
    band: str | None,
    point: str | None,
    spread: Spread | None = None,
) -> Finding:
    check = judged.check
    message, why, _ = text_of(solved, judged, row)
    found = Finding(
        code=check.code,
        state=judged.state(row),
        case=check.case,
        band=band,
        frequency_hertz=None if judged.whole else float(solved.frequency[row]),
        part=check.part,
        quantity=check.quantity,
        value=number(judged.value[row]),
        limit=number(judged.limit[row]),
        unit=judged.unit,
        used_fraction=number(judged.used[row]),
        message=message,
        why=why,
        fix="",
        line=solved.line(*judged.key(row)),
        order=None if judged.order is None else int(judged.order[row]) or None,
        operating_point=point,
    )
    if spread is None:
        return found
    return replace(
        found,
        used_low=spread.low,
        used_high=spread.high,
        share_over=spread.share_over,
        settled_by=spread.settled_by,
    )


def _not_rated(solved: Solved, unrated: NotRated) -> Finding:
    message, why, add = unrated_text_of(solved, unrated)
    check = unrated.check
    return Finding(
        code=check.code,
        state="not_rated",
        case=check.case,
        band=None,
        frequency_hertz=None,
        part=check.part,
        quantity=check.quantity,
        value=None,
        limit=None,
        unit=unrated.unit,
        used_fraction=None,
        message=message,
        why=why,
        fix=add,
        line=solved.line(*unrated.key),
    )


def identity(finding: Finding) -> Identity:
    """Return what tells a finding from all others of its amplifier."""
    f = finding
    return f.code, f.band, f.part, f.quantity, f.case, f.operating_point


def by_identity(findings: Sequence[Finding]) -> Mapping[Identity, Finding]:
    """Return findings by their identity."""
    return {identity(finding): finding for finding in findings}


def _severity(finding: Finding) -> tuple[int, float]:
    used = math.inf if finding.used_fraction is None else finding.used_fraction
    return STATES.index(finding.state), -used


def verdict(
    solved: Solved,
    apart: FloatArray | None,
    provenance: Provenance,
    remarks: Sequence[Note],
    spreads: Spreads,
) -> Verdict:
    """Return everything known as one object.

    Parameters
    ----------
    solved : Solved
        Of all networks.
    apart : ndarray or None
        Difference between the solvers, shape ``(networks,)``; None if only one ran.
    provenance : Provenance
        What made the result.
    remarks : sequence of Note
        What reading the tube's curves brought up.
    spreads : Spreads
        What the limits of what is known do to the findings and losses.
    """
    description = solved.description
    found = findings(solved, spreads.findings)
    return Verdict(
        schema_version=SCHEMA_VERSION,
        title=description.title,
        topology=description.network.topology,
        stage=stage_of(solved, 0),
        bands=bands_of(solved, 0, apart, spreads),
        findings=found,
        counts={
            **{state: sum(f.state == state for f in found) for state in STATES},
            "unsure": sum(f.unsure for f in found),
        },
        assumptions=tuple(assumptions(solved)),
        cross_checked=apart is not None,
        provenance=provenance,
        operating_points=tuple(
            OperatingPointResult(
                solved.point_names[point] or "",
                stage_of(solved, point),
                bands_of(solved, point, apart, spreads),
            )
            for point in solved.points()
            if point
        ),
        judged_on="pulse" if solved.tube_state is None else "tube",
        tube=tube_of(solved),
        notes=(*remarks, *notes(solved)),
        box=box_of(solved),
        known=spreads.known,
    )
