"""All findings of an amplifier, worst first, and the result they belong to."""

import math
from collections.abc import Iterator, Sequence

from netsim.circuit.elements import FloatArray
from netsim.verdict import coil_assumptions
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
from netsim.verdict.words import text_of, unrated_text_of

WHATEVER_THE_STAGE = ("choke_resonance", "self_resonance", "tube_wall")
"""What no operating point changes is told once, of the stage as it stands."""

STATES: tuple[State, ...] = ("over", "close", "not_rated", "pass")


def findings(solved: Solved, rules: tuple[Rule, ...] = ALL) -> tuple[Finding, ...]:
    """Return every finding, ordered by state and then by how far the limit is used.

    Parameters
    ----------
    solved : Solved
        At the stage as it stands in the file and at all operating points.
    rules : tuple of callable
        Which of the rules.

    Returns
    -------
    tuple of Finding
        Over first; within a state what has no fraction first, then the highest fraction. One for each check,
        band and operating point: its worst network. What no operating point changes is told once.
    """
    found: list[Finding] = []
    for check in checks(solved, rules):
        found += [_not_rated(solved, check)] if isinstance(check, NotRated) else _worst(solved, check)
    return tuple(sorted(found, key=_severity))


def _worst(solved: Solved, judged: Judged) -> Iterator[Finding]:
    """Build the finding of each band and operating point from its worst network."""
    if judged.whole:
        yield _finding(solved, judged, 0, None, None)
        return
    for point in solved.points():
        if point and judged.check.code in WHATEVER_THE_STAGE:
            continue
        for _, band, rows in solved.bands(point):
            rows = rows[judged.applies[rows]]
            if rows.size:
                yield _finding(solved, judged, judged.worst(rows), band, solved.point_names[point])


def _finding(solved: Solved, judged: Judged, row: int, band: str | None, point: str | None) -> Finding:
    check = judged.check
    message, why, _ = text_of(solved, judged, row)
    return Finding(
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


def _severity(finding: Finding) -> tuple[int, float]:
    used = math.inf if finding.used_fraction is None else finding.used_fraction
    return STATES.index(finding.state), -used


def verdict(
    solved: Solved, apart: FloatArray | None, provenance: Provenance, remarks: Sequence[Note] = ()
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
    """
    description = solved.description
    found = findings(solved)
    return Verdict(
        schema_version=SCHEMA_VERSION,
        title=description.title,
        topology=description.network.topology,
        stage=stage_of(solved, 0),
        bands=bands_of(solved, 0, apart),
        findings=found,
        counts={state: sum(f.state == state for f in found) for state in STATES},
        assumptions=(*assumptions(solved.amplifier), *coil_assumptions.assumptions(solved)),
        cross_checked=apart is not None,
        provenance=provenance,
        operating_points=tuple(
            OperatingPointResult(
                solved.point_names[point] or "", stage_of(solved, point), bands_of(solved, point, apart)
            )
            for point in solved.points()
            if point
        ),
        judged_on="pulse" if solved.tube_state is None else "tube",
        tube=tube_of(solved),
        notes=(*remarks, *notes(solved)),
        box=box_of(solved),
    )
