"""All findings of an amplifier, worst first, and the result they belong to."""

import math
from collections.abc import Iterator, Mapping, Sequence

from netsim.circuit.elements import FloatArray
from netsim.verdict import coil_assumptions
from netsim.verdict.assumptions import assumptions
from netsim.verdict.checks import checks
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


def findings(solved: Solved, spreads: Mapping[Place, Spread] = _NOTHING_SAMPLED) -> tuple[Finding, ...]:
    """Return every finding, ordered by state and then by how far the limit is used.

    Parameters
    ----------
    solved : Solved
        At the stage as it stands in the file and at all operating points.
    spreads : mapping of Place to Spread
        How far the limits of what is known let them vary, of those that were sampled.

    Returns
    -------
    tuple of Finding
        Over first; within a state what has no fraction first, then the highest fraction. One for each check,
        band and operating point: its worst network. What no operating point changes is told once.
    """
    found: list[Finding] = []
    for check in checks(solved):
        found += (
            [_not_rated(solved, check)] if isinstance(check, NotRated) else _worst(solved, check, spreads)
        )
    return tuple(sorted(found, key=_severity))


def _worst(solved: Solved, judged: Judged, spreads: Mapping[Place, Spread]) -> Iterator[Finding]:
    """Build the finding of each band and operating point from its worst network."""
    check = judged.check
    for point in solved.points():
        if point and check.code in WHATEVER_THE_STAGE:
            continue
        for index, band, rows in solved.bands(point):
            rows = rows[judged.applies[rows]]
            if not rows.size:
                continue
            row = judged.worst(rows)
            state = judged.state(row)
            message, why, _ = text_of(solved, judged, row)
            spread = spreads.get((check, index, point))
            yield Finding(
                code=check.code,
                state=state,
                case=check.case,
                band=band,
                frequency_hertz=float(solved.frequency[row]),
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
                operating_point=solved.point_names[point],
                **({} if spread is None else spread.as_told),
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
        assumptions=(*assumptions(solved.amplifier), *coil_assumptions.assumptions(solved)),
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
        known=spreads.known,
    )
