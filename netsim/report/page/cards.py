"""What is judged, as cards: one for each part and cause, a row for each place, the worst place first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.description.formatting import format_quantity, percent
from netsim.report.finding_groups import Group, groups
from netsim.report.known_words import sureness_words
from netsim.report.notation import (
    WORDS,
    case_of,
    finding_anchor,
    finding_title,
    limit_of,
    place_of,
    subject_of,
    value_of,
)
from netsim.report.page.bars import used_bar, whisker_of
from netsim.report.page.change_section import FindingChange
from netsim.verdict.result import PART_NAMES, Finding, State, Verdict

_NO_CHANGES: Mapping[int, FindingChange] = {}


Origin = tuple[str, int]
"""What of a number a line of the file gives, and the line."""


@dataclass(frozen=True)
class Row:
    """One finding with its figures written out, and the lines of the file that they come from."""

    anchor: str
    finding: Finding
    place: str
    frequency: str
    value: str
    limit: str
    used: str
    bar: Markup
    sure: str
    change: FindingChange | None
    origins: tuple[Origin, ...]


@dataclass(frozen=True)
class Card:
    """All findings of one group: about the same cause in the same part, worst first."""

    anchor: str
    title: str
    state: str
    worst: str
    rows: tuple[Row, ...]


class Origins:
    """The lines of a file that the numbers of a result come from."""

    def __init__(self, result: Analysis) -> None:
        amplifier = result.amplifier
        self._stage = amplifier.position("stage").line
        self._parts = {name: amplifier.position("network", name).line for name in PART_NAMES}
        names = [band.name for band in amplifier.description.bands]
        self._bands = {name: amplifier.position("bands", index).line for index, name in enumerate(names)}

    def of(self, finding: Finding) -> tuple[Origin, ...]:
        """List the lines of a finding: its limit, the part's table, the stage's and the band's."""
        lines = [
            ("limit" if finding.limit is not None else "part", finding.line),
            ("part", self._parts.get(finding.part)),
            ("stage", self._stage),
            ("band", self._bands.get(finding.band or "")),
        ]
        first = {line: what for what, line in reversed(lines) if line is not None}
        listed = dict.fromkeys(line for _, line in lines if line is not None)
        return tuple((first[line], line) for line in listed)


def cards(
    found: Sequence[Group],
    origins: Origins | None = None,
    changes: Mapping[int, FindingChange] = _NO_CHANGES,
) -> tuple[Card, ...]:
    """Write groups of findings out, with the lines they come from and what `changes` do for them by their places."""
    return tuple(_card(group, origins, changes) for group in found)


def passing(verdict: Verdict, origins: Origins | None = None) -> tuple[Card, ...]:
    """Write out what passes."""
    return cards(groups(verdict, ("pass",)), origins)


def told_of(found: Sequence[Group], state: State) -> tuple[Group, ...]:
    """Choose the groups whose worst finding has a state."""
    return tuple(group for group in found if group.worst.state == state)


def _card(group: Group, origins: Origins | None, changes: Mapping[int, FindingChange]) -> Card:
    first = group.worst
    cases = {case_of(finding) for _, finding in group.findings}
    return Card(
        anchor=card_anchor(group),
        title=finding_title(first) if len(cases) == 1 else subject_of(first),
        state=first.state,
        worst="" if first.used_fraction is None else percent(first.used_fraction),
        rows=tuple(
            _row(index, finding, origins, changes.get(index), case_of(finding) if len(cases) > 1 else "")
            for index, finding in group.findings
        ),
    )


def card_anchor(group: Group) -> str:
    """Give the id of a group's card: by the place of its worst finding in the result."""
    return f"card-{group.findings[0][0] + 1}"


def _row(
    index: int, finding: Finding, origins: Origins | None, change: FindingChange | None, case: str
) -> Row:
    """Write one finding out; `index` is its place in the result."""
    used = percent(finding.used_fraction)
    spoken = f"{finding_title(finding)}: {used} used, {WORDS[finding.state]}"
    return Row(
        anchor=finding_anchor(index),
        finding=finding,
        place=", ".join(words for words in (place_of(finding), case) if words),
        frequency="" if finding.frequency_hertz is None else format_quantity(finding.frequency_hertz, "Hz"),
        value=value_of(finding),
        limit=limit_of(finding),
        used=used,
        bar=used_bar(finding.used_fraction, finding.state, spoken, whisker_of(finding)),
        sure=sureness_words(finding),
        change=change,
        origins=() if origins is None else origins.of(finding),
    )
