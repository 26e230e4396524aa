"""For each finding of the box over or close at most three changes that clear it, each solved with what it does."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from netsim.advice.box.candidates import Candidate, candidates
from netsim.advice.change import Change, as_told, changed
from netsim.advice.outcome import NOTICEABLE, RISE
from netsim.advice.remedy_words import WHILE_TUNING, remedy_text
from netsim.analysis import Analysis, analyse
from netsim.analysis.box.walk import with_box
from netsim.errors import DescriptionError, SolveError
from netsim.verdict.checks.box import CODES
from netsim.verdict.checks.every import WHOLE_BOX
from netsim.verdict.findings import STATES, Identity, by_identity, findings, identity
from netsim.verdict.result import Finding, Remedy, Worse

MOST_REMEDIES = 3
MOST_WALKS = 3
"""Candidates that make the whole amplifier solve again, over all findings of one result."""

_NONE = "no single change of the file that was tried clears it; netsim explain {} says what else may"
_NONE_TRIED = "no single change of the file clears it; {}"

Told = Mapping[Identity, Finding]
SolvedRemedy = tuple[Change, Remedy]


def box_remedies(result: Analysis) -> Iterator[tuple[Finding, list[SolvedRemedy], str]]:
    """Yield each finding of the box over or close with its remedies, and what is said where there is none.

    Notes
    -----
    Every candidate is written into the file, read again, and what it touches is solved by the same walk and judged
    by the same rules: limits alone, the box, or the whole amplifier, of which at most three are solved.
    """
    to_mend = [f for f in result.verdict.findings if f.code in CODES and f.state in ("over", "close")]
    before = by_identity(result.verdict.findings)
    solved: dict[tuple[str, ...], Told | None] = {}
    walks = 0
    for finding in to_mend:
        found: list[tuple[tuple[int, int, int], SolvedRemedy]] = []
        for place, candidate in enumerate(candidates(result.solved, finding)):
            key = tuple(f"{edit.path}={edit.text}" for edit in candidate.edits)
            if key not in solved:
                if candidate.scope == "network":
                    if walks == MOST_WALKS:
                        continue
                    walks += 1
                solved[key] = _after(result, candidate)
            after = solved[key]
            remedy = None if after is None else _remedy(result, finding, candidate, before, after)
            if remedy is not None:
                state, (change, one) = remedy
                over = sum(worse.state == "over" for worse in one.worse)
                found.append(((over, -STATES.index(state), place), (change, one)))
        found.sort(key=lambda entry: entry[0])
        listed = [one for _, one in found[:MOST_REMEDIES]]
        yield finding, listed, "" if listed else none_found(finding)


def none_found(finding: Finding) -> str:
    """Say that nothing was found for a finding of the box."""
    if finding.case == "while_tuning":
        return _NONE_TRIED.format(WHILE_TUNING)
    return _NONE.format(finding.code)


def _after(result: Analysis, candidate: Candidate) -> Told | None:
    """Solve a candidate; None where the reader or a solver would not have it."""
    old = result.solved
    try:
        amplifier = changed(result.amplifier, candidate.edits)
        if candidate.scope == "network":
            bands = [name for _, name, _ in old.bands()]
            only = bands[0] if len(bands) < len(old.description.bands) else None
            walked = analyse(amplifier, band=only, engine="two-port", swr=result.swr, samples=1)
            return by_identity(walked.verdict.findings)
        new = replace(old, amplifier=amplifier, description=amplifier.description)
        if candidate.scope != "limits":
            new = with_box(new, "two-port", None if candidate.scope == "supply" else old.box)
    except (DescriptionError, SolveError):
        return None
    return by_identity(findings(new, rules=WHOLE_BOX))


def _remedy(
    result: Analysis, finding: Finding, candidate: Candidate, before: Told, after: Told
) -> tuple[str, SolvedRemedy] | None:
    """Say what a candidate does; None where it clears nothing."""
    then = after.get(identity(finding))
    state = "pass" if then is None else then.state
    if state == finding.state or state == "over":
        return None
    entries = list(_worse(before, after))
    worse = [entry for entry, _, _ in entries]
    told = [(entry, already) for entry, already, noticed in entries if noticed]
    change = Change(
        "part", ".".join(map(str, candidate.edits[0].path)), None, candidate.title, candidate.edits
    )
    used = None if then is None else then.used_fraction
    text = remedy_text(change, finding, used, "pass" if state == "not_rated" else state, told)
    return state, (change, Remedy(as_told(result.amplifier, candidate.edits), text, used, True, tuple(worse)))


def _worse(before: Told, after: Told) -> Iterator[tuple[Worse, bool, bool]]:
    """Yield what becomes over or close and was not, or is over and rises: whether it was so, and noticeably."""
    for key, then in after.items():
        was = before.get(key)
        if then.state not in ("over", "close"):
            continue
        level, had = STATES.index(then.state), 2 if was is None else STATES.index(was.state)
        fell = level < had
        used, old = then.used_fraction or 0.0, (0.0 if was is None else was.used_fraction or 0.0)
        if fell or (then.state == "over" and used > old * RISE):
            entry = Worse(
                then.code,
                then.band,
                then.part,
                then.used_fraction,
                then.quantity,
                then.case,
                then.operating_point,
                then.state,
            )
            yield entry, not fell, fell or used > old * NOTICEABLE
