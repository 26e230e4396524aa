"""The smallest change that clears what is over: its list, its diff, and what it does to each finding."""

from collections.abc import Mapping
from dataclasses import dataclass

from netsim.advice.change import WEIGHTS, Change
from netsim.advice.fix.attribution import ExplainedFix
from netsim.advice.fix.effects import Effect
from netsim.advice.fix.fix import Fix
from netsim.advice.fix.search import next_stage
from netsim.description.formatting import percent
from netsim.description.toml_text.rewriting import difference
from netsim.report.finding_groups import grouped
from netsim.report.notation import effect_title, nothing_exceeded, place_of
from netsim.report.page.downloads import Download, amplifier_download, file_name
from netsim.verdict.findings import identity
from netsim.verdict.result import Finding, Verdict

_OUTCOMES = {
    "cleared": ("✓", "cleared"),
    "better": ("↓", "less"),
    "worse": ("↑", "more"),
    "same": ("=", "the same"),
    "new": ("+", "new"),
    "gone": ("−", "gone"),
}


@dataclass(frozen=True)
class ChangeRow:
    """One change."""

    number: int
    anchor: str
    band: str
    title: str
    kind: str
    weight: int


@dataclass(frozen=True)
class EffectRow:
    """What becomes of one finding; its marks are of the state afterwards."""

    mark: str
    word: str
    state: str
    place: str
    title: str
    before: str
    after: str


@dataclass(frozen=True)
class ChangeSection:
    """Everything about the change; of what remains over the worst place of each part and cause."""

    needed: bool
    nothing: str
    clears: bool
    heading: str
    summary: str
    cross_checked: bool
    changes: tuple[ChangeRow, ...]
    weights: str
    weight: int
    budget: int
    ended_early: bool
    next_stage: int
    remaining: tuple[Finding, ...]
    effects: tuple[EffectRow, ...]
    diff: str
    changed_file: Download | None


@dataclass(frozen=True)
class FindingChange:
    """What the change does for one finding, for its card."""

    changes: tuple[ChangeRow, ...]
    before: str
    after: str
    state: str
    verdict: str


def change_section(explained: ExplainedFix | None) -> ChangeSection | None:
    """Write a fix out; None where none was looked for."""
    if explained is None:
        return None
    found = explained.fix
    before, after = (one.verdict.counts for one in (found.before, found.after))
    needed = bool(before["over"])
    path = found.before.amplifier.path
    return ChangeSection(
        needed=needed,
        nothing=nothing_exceeded(found.before.verdict),
        clears=found.clears,
        heading=_heading(found, needed),
        summary=f"{before['over']} over and {before['close']} close become {after['over']} over and "
        f"{after['close']} close",
        cross_checked=found.after.verdict.cross_checked,
        changes=_rows(found),
        weights=", ".join(f"{kind} {weight}" for kind, weight in WEIGHTS.items()),
        weight=found.weight,
        budget=found.budget,
        ended_early=found.ended_early,
        next_stage=next_stage(found.budget),
        remaining=tuple(group.worst for group in grouped(enumerate(found.remaining))),
        effects=tuple(_effect(effect) for effect in found.effects) if found.changes else (),
        diff=difference(found.before.amplifier.text, found.text, file_name(path)),
        changed_file=amplifier_download("Amplifier file with the change (TOML)", path, "-changed", found.text)
        if found.changes
        else None,
    )


def finding_changes(verdict: Verdict, explained: ExplainedFix | None) -> Mapping[int, FindingChange]:
    """Tell for the findings of a result, by their places in it, what the change does for them."""
    if explained is None or not explained.fix.changes:
        return {}
    rows, made = _rows(explained.fix), explained.fix.changes
    effects = {identity(e.before): e for e in explained.fix.effects if e.before is not None}
    changes = {}
    for index, finding in enumerate(verdict.findings):
        effect = effects.get(identity(finding))
        if effect is not None and finding.state in ("over", "close"):
            causes = explained.causes.get(identity(finding), ())
            changes[index] = _finding_change(effect, tuple(rows[made.index(change)] for change in causes))
    return changes


def _finding_change(effect: Effect, changes: tuple[ChangeRow, ...]) -> FindingChange:
    after = effect.after
    state = "pass" if after is None else after.state
    verdict = {"over": "still over", "close": "then close", "not_rated": "then not rated"}.get(state, "")
    return FindingChange(changes, _used(effect.before), _used(after), state, verdict)


def _heading(found: Fix, needed: bool) -> str:
    if not needed:
        return "No change"
    return (
        "The smallest change that clears everything" if found.clears else "The change that leaves least over"
    )


def _rows(found: Fix) -> tuple[ChangeRow, ...]:
    return tuple(_row(number, change) for number, change in enumerate(found.changes, start=1))


def _row(number: int, change: Change) -> ChangeRow:
    where = change.band or "all bands"
    return ChangeRow(number, f"change-{number}", where, change.title, change.kind, change.weight)


def _effect(effect: Effect) -> EffectRow:
    shown = effect.after or effect.before
    assert shown is not None  # one of the two is there
    mark, word = _OUTCOMES[effect.outcome]
    if effect.before is not None and effect.after is not None and effect.outcome in ("better", "worse"):
        word += f", {effect.after.state.replace('_', ' ')}"
    state = "pass" if effect.after is None else effect.after.state
    title = effect_title(shown, effect.outcome)
    return EffectRow(mark, word, state, place_of(shown), title, _used(effect.before), _used(effect.after))


def _used(finding: Finding | None) -> str:
    return percent(None if finding is None else finding.used_fraction)
