"""What fails and what is close, as cards: one for each part and aspect, one row for each place."""

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from netsim.description.formatting import format_quantity
from netsim.report.notation import (
    WORDS,
    finding_anchor,
    finding_title,
    limit_of,
    line_anchor,
    numbered,
    percent,
    place_of,
    value_of,
)
from netsim.report.page.bars import used_bar
from netsim.report.page.change_section import FindingChange
from netsim.verdict.result import Finding, Verdict

_NO_CHANGES: Mapping[int, FindingChange] = {}


@dataclass(frozen=True)
class Row:
    """One finding, written out."""

    anchor: str
    place: str
    frequency: str
    value: str
    limit: str
    used: str
    bar: Markup
    message: str
    why: str
    fix: str
    others: tuple[str, ...]
    change: FindingChange | None
    line: int | None
    line_anchor: str


@dataclass(frozen=True)
class Card:
    """All findings of one state about the same aspect of the same part, worst first."""

    anchor: str
    title: str
    state: str
    worst: str
    places: tuple[str, ...]
    rows: tuple[Row, ...]


def cards(
    verdict: Verdict, state: str, changes: Mapping[int, FindingChange] = _NO_CHANGES
) -> tuple[Card, ...]:
    """Gather the findings of one state into cards, the card with the worst finding first.

    Parameters
    ----------
    verdict : Verdict
        Its findings are ordered worst first.
    state : str
        Which findings.
    changes : mapping of int to FindingChange
        What a change that clears them does for each, by its place in the result.
    """
    groups: dict[tuple[str, str, str, str], list[tuple[int, Finding]]] = {}
    for index, finding in numbered(verdict):
        if finding.state == state:
            key = finding.code, finding.part, finding.quantity, finding.case
            groups.setdefault(key, []).append((index, finding))
    return tuple(_card(number, entries, changes) for number, entries in enumerate(groups.values(), start=1))


def _card(number: int, entries: list[tuple[int, Finding]], changes: Mapping[int, FindingChange]) -> Card:
    first = entries[0][1]
    places = dict.fromkeys(place_of(finding) for _, finding in entries)
    return Card(
        anchor=f"{first.state}-{number}",
        title=finding_title(first),
        state=first.state,
        worst="" if first.used_fraction is None else percent(first.used_fraction),
        places=tuple(places),
        rows=tuple(row(index, finding, changes.get(index)) for index, finding in entries),
    )


def row(index: int, finding: Finding, change: FindingChange | None = None) -> Row:
    """Write one finding out; `index` is its place in the result."""
    used = percent(finding.used_fraction)
    spoken = f"{finding_title(finding)}: {used} used, {WORDS[finding.state]}"
    return Row(
        anchor=finding_anchor(index),
        place=place_of(finding),
        frequency="" if finding.frequency_hertz is None else format_quantity(finding.frequency_hertz, "Hz"),
        value=value_of(finding),
        limit=limit_of(finding),
        used=used,
        bar=used_bar(finding.used_fraction, finding.state, spoken),
        message=finding.message,
        why=finding.why,
        fix=finding.fix,
        others=tuple(remedy.text for remedy in finding.remedies[1:]),
        change=change,
        line=finding.line,
        line_anchor="" if finding.line is None else line_anchor(finding.line),
    )
