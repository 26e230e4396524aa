"""For each finding over or close at most three single changes that clear it, each solved with all that it does."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain

import numpy as np

from netsim.advice.box.remedies import SolvedRemedy, box_remedies
from netsim.advice.change import Change, applied, as_told, keeps_the_rules
from netsim.advice.outcome import CLOSE, NUMBER_OF, Outcome, check_of
from netsim.advice.part_changes import higher_ratings
from netsim.advice.preferred_values import rating_for
from netsim.advice.remedy_candidates import OpenFinding
from netsim.advice.remedy_words import none_found, output_text, remedy_text, why_not, window_text
from netsim.advice.single_changes import SingleChanges, Tried
from netsim.analysis import Analysis
from netsim.description.models.amplifier import Description
from netsim.verdict.checks.parts import effective_rating
from netsim.verdict.result import Finding, Remedy, State, Worse

MOST_REMEDIES = 3

_STATES: dict[int, State] = {number: name for name, number in NUMBER_OF.items()}


def with_remedies(result: Analysis, given: Description | None = None) -> Analysis:
    """Return a result whose findings over and close have remedies, and words for the best of them.

    Parameters
    ----------
    result : Analysis
    given : Description, optional
        With the ratings of the parts that there are, where the result is that of a proposal.

    Notes
    -----
    Edits are applied to the description with their values as the file would have them, and solved in numpy by
    the checks that judged the result, over all frequencies and operating points: changes of one band on that band,
    others on all. Ratings change no network, so that what is carried over the new rating is exact, on other
    antennas and while tuning as well.
    """
    every = chain(_solved(result, given), box_remedies(result))
    known = {id(finding): (found, words) for finding, found, words in every}
    findings = []
    for finding in result.verdict.findings:
        if id(finding) in known:
            found, words = known[id(finding)]
            remedies = tuple(remedy for _, remedy in found)
            finding = replace(finding, remedies=remedies, fix=remedies[0].text if remedies else words)
        findings.append(finding)
    return replace(result, verdict=replace(result.verdict, findings=tuple(findings)))


def solved_remedies(result: Analysis) -> list[tuple[Finding, list[SolvedRemedy]]]:
    """Return every finding over or close with its remedies, best first, and the changes that they are."""
    return [(finding, found) for finding, found, _ in chain(_solved(result, None), box_remedies(result))]


def _solved(result: Analysis, given: Description | None) -> Iterator[tuple[Finding, list[SolvedRemedy], str]]:
    """Yield findings, their remedies, and what is said where there is none."""
    changes, given = SingleChanges(result), given or result.solved.description
    wanted: dict[tuple[str, str], tuple[Change, list[int]]] = {}
    for number, one in enumerate(changes.to_mend):
        best = sorted(changes.candidates(one), key=lambda tried: tried.rank(one))
        for tried in best[:MOST_REMEDIES]:
            wanted.setdefault(tried.change.key, (tried.change, []))[1].append(number)
    proven: dict[int, list[Tried]] = {}
    # First what helps most findings: where each takes long, not all can be afforded.
    order = sorted(wanted.values(), key=lambda entry: -len(entry[1]))
    for tried in changes.proven(change for change, _ in order):
        for number in wanted[tried.change.key][1]:
            proven.setdefault(number, []).append(tried)
    for number, one in enumerate(changes.to_mend):
        listed = [
            (tried.rank(one), (tried.change, _remedy(result, changes, one, tried)))
            for tried in proven.get(number, ())
            if tried.helps(one)
        ]
        listed += _rating(result, changes, one, given)
        listed.sort(key=lambda entry: entry[0])
        # Of several values for one key the one that does best, which is as a rule the smallest step.
        first = {change.edits[0].path: (change, remedy) for _, (change, remedy) in reversed(listed)}
        found = list(first.values())[::-1][:MOST_REMEDIES]
        words = "" if found else none_found(result.solved, changes.before, one, given)
        yield one.finding, found, words


def _remedy(result: Analysis, changes: SingleChanges, one: OpenFinding, tried: Tried) -> Remedy:
    state, used = tried.after(one)
    found = tried.difference
    worse = [
        (_worse(result, found.after, tried.bands, *where), bool(found.noticed[where]), found.was[where])
        for where in map(tuple, np.argwhere(found.worse))
    ]
    told = [(entry, _STATES[int(was)] == entry.state) for entry, noticed, was in worse if noticed]
    more = _more(result, changes, one, tried)
    text = remedy_text(tried.change, one.finding, used, _STATES[state], told, *more)
    return Remedy(
        as_told(result.amplifier, tried.change.edits), text, used, True, tuple(entry for entry, _, _ in worse)
    )


def _more(result: Analysis, changes: SingleChanges, one: OpenFinding, tried: Tried) -> Iterator[str]:
    """Say what output is given up, how much padding would do, and why a tap is not the one nearest to the target Q."""
    description, change = result.solved.description, tried.change
    if change.kind == "output":
        kept = tried.difference.after.output / changes.before.output[:, tried.bands]
        yield output_text(float(np.nanmin(kept)), float(np.nanmax(kept)))
    if change.kind == "padding":
        side = str(change.edits[0].path[-1]).partition("_")[0]
        window = changes.window(one, side)
        if window is not None:
            yield window_text(*window)
    if change.kind == "tap" and str(change.edits[0].path[-1]) in ("coil", "coil_turns"):
        nearest = changes.nearest.get(one.band)
        if nearest is not None and nearest.change.title != change.title:
            column = tried.bands.index(one.band)
            chosen, other = tried.difference.after.take([column]), nearest.difference.after
            target = description.limits.target_loaded_q
            yield why_not(nearest.change.title, target, chosen.only(other.checks), other)


def _worse(
    result: Analysis, after: Outcome, bands: Sequence[int], place: int, point: int, column: int
) -> Worse:
    solved, check, used = result.solved, after.checks[place], float(after.used[place, point, column])
    return Worse(
        check.code,
        solved.description.bands[bands[column]].name,
        check.part,
        used if np.isfinite(used) else None,
        check.quantity,
        check.case,
        solved.point_names[point],
        _STATES[int(after.state[place, point, column])],
    )


def _rating(
    result: Analysis, changes: SingleChanges, one: OpenFinding, given: Description
) -> Iterator[tuple[tuple[int, ...], SolvedRemedy]]:
    """Raise a rating to what everything that the part carries asks for, as far as it can be had."""
    before, finding = changes.before, one.finding
    place = before.index.get(check_of(finding))
    key = None if place is None else before.rating[place]
    description = result.solved.description
    if place is None or key is None or getattr(description.network, finding.part, None) is None:
        return
    if effective_rating(getattr(given.network, finding.part), key) is None:
        return
    asked: list[float] = []
    for other, check in enumerate(before.checks):
        if check.part == finding.part and before.rating[other] == key:
            for point, band in np.argwhere(before.state[other] >= CLOSE):
                value = float(before.value[other, point, band])
                asked.append(rating_for(value, float(before.close[other])))
    change = higher_ratings(description, finding.part, {key: max(asked)})
    if not keeps_the_rules(applied(description, change.edits)):
        return
    used = (finding.value or 0.0) / change.edits[0].value
    text = remedy_text(change, finding, used, "pass", ())
    stays = not before.tuned[one.point, one.band].all()
    yield (
        (NUMBER_OF["pass"], False, 0, stays, 0, change.weight),
        (change, Remedy(as_told(result.amplifier, change.edits), text, used, True, ())),
    )
