"""Findings put together by what they say: one group for each part and cause, its bands beside each other."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from netsim.report.notation import case_of, kind_of, part_label, subject_of
from netsim.verdict.result import PART_NAMES, Finding, State, Verdict

Entry = TypeVar("Entry")
Key = TypeVar("Key", bound=Hashable)

_SHORT = {
    "part_voltage": "voltage",
    "part_unloaded_voltage": "voltage with the antenna off",
    "part_tuning_voltage": "voltage while tuning",
    "part_current": "current",
}
"""Causes in a word or two, where a sentence lists them."""


@dataclass(frozen=True)
class Group:
    """Findings with the same part, cause and case, worst first, with their places in the result.

    Findings on other antennas stand in the group of the matched antenna where that already says the same.
    """

    findings: tuple[tuple[int, Finding], ...]

    @property
    def worst(self) -> Finding:
        """The finding that uses most of its limit."""
        return self.findings[0][1]

    @property
    def others(self) -> tuple[tuple[int, Finding], ...]:
        """All findings but the worst."""
        return self.findings[1:]

    def bands(self, state: State) -> tuple[str, ...]:
        """Return the names of the bands with findings of a state, worst first; empty where none is named."""
        own = (f for _, f in self.findings if f.state == state)
        return tuple(dict.fromkeys(f.band for f in own if f.band is not None))


@dataclass(frozen=True)
class PartCauses:
    """One part, or what belongs to no part, with the groups that speak of it, worst first."""

    label: str
    groups: tuple[Group, ...]


def gathered(entries: Iterable[Entry], key: Callable[[Entry], Key]) -> dict[Key, list[Entry]]:
    """Put together the entries of a kind, kinds and entries in the order in which they come."""
    found: dict[Key, list[Entry]] = {}
    for entry in entries:
        found.setdefault(key(entry), []).append(entry)
    return found


def groups(verdict: Verdict, states: Sequence[State]) -> tuple[Group, ...]:
    """Return the findings of some states by part and cause, the group with the worst finding first."""
    return grouped((index, f) for index, f in enumerate(verdict.findings) if f.state in states)


def grouped(findings: Iterable[tuple[int, Finding]]) -> tuple[Group, ...]:
    """Return numbered findings, worst first, by part and cause."""
    found = list(findings)
    matched = {_told(f) for _, f in found if f.case == "matched"}

    def kind(entry: tuple[int, Finding]) -> tuple[str, ...]:
        _, finding = entry
        known = finding.case == "any_antenna" and _told(finding) in matched
        return finding.code, finding.part, finding.quantity, "matched" if known else finding.case

    return tuple(Group(tuple(entries)) for entries in gathered(found, kind).values())


def by_part(found: Sequence[Group]) -> tuple[PartCauses, ...]:
    """Return groups by the part they speak of, in the order in which parts first come."""

    def label(group: Group) -> str:
        worst = group.worst
        return part_label(worst.part) if worst.part in PART_NAMES else subject_of(worst)

    return tuple(PartCauses(name, tuple(own)) for name, own in gathered(found, label).items())


def cause_of(group: Group) -> str:
    """Name what of a part is judged, shortly, with its condition; empty where the part's label tells all."""
    worst = group.worst
    cause = _SHORT.get(worst.code, kind_of(worst)) if worst.part in PART_NAMES else ""
    case = "on some antennas" if worst.case == "any_antenna" else case_of(worst)
    return " ".join(words for words in (cause, case) if words)


def bands_of(group: Group, every: int, state: State) -> str:
    """Say on how many of all bands a state is found: one by name, more by number; empty where none is named."""
    bands = group.bands(state)
    if not bands:
        return ""
    if len(bands) == 1:
        return bands[0] if every > 1 else ""
    return f"{'all ' if len(bands) == every else ''}{len(bands)} bands"


def _told(finding: Finding) -> tuple[object, ...]:
    return finding.code, finding.part, finding.quantity, finding.band, finding.operating_point, finding.state
