"""A fix for the terminal: what to do, what it does to every finding, what remains; the diff follows."""

import math
from collections.abc import Iterator, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from netsim.advice.change import WEIGHTS
from netsim.advice.fix.effects import Effect
from netsim.advice.fix.fix import Fix
from netsim.advice.fix.search import next_stage
from netsim.description.formatting import percent
from netsim.description.toml_text.rewriting import difference
from netsim.report.finding_groups import gathered
from netsim.report.notation import CAUTION, effect_title, nothing_exceeded
from netsim.report.terminal.tables import indented, unchecked
from netsim.verdict.findings import identity
from netsim.verdict.result import Finding

_STYLES = {"cleared": "green", "better": "green", "worse": "yellow", "new": "yellow", "same": "", "gone": ""}
_MOST_LINES, _FEWEST = 60, 3
"""Lines of the whole with the diff, and rows of effects that are printed in any case."""

_BESIDE, _WIDTH = 15, 64
"""Lines that are neither changes nor effects nor diff; characters of a change on one line."""


def render(found: Fix, singles: Sequence[Finding] = (), *, everything: bool = False) -> RenderableType:
    """Lay out a fix for a console of 80 columns; texts of the file are never read as markup.

    `singles` are findings of the amplifier as it stands, with their remedies; with `everything` every one has a row.
    """
    return Group(
        *_head(found),
        *_changes(found),
        *_effects(found, everything),
        *_remaining(found, everything),
        *_singles(singles),
        Text(CAUTION),
    )


def short_diff(found: Fix) -> str:
    """Return the change as ``patch`` reads it, without the lines around what changes."""
    before = found.before.amplifier
    return difference(before.text, found.text, before.path, around=0)


def _head(found: Fix) -> Iterator[RenderableType]:
    before, after = found.before.verdict, found.after.verdict
    yield Text(before.title, "bold")
    if not before.counts["over"]:
        yield Text(nothing_exceeded(before))
        return
    verdict = (
        "Nothing that is rated is exceeded after it" if found.clears else "Not everything can be cleared"
    )
    unrated = after.counts["not_rated"]
    yield Text.assemble(
        (verdict, "bold" if found.clears else "bold red"),
        f": {before.counts['over']} over and {before.counts['close']} close become "
        f"{after.counts['over']} over and {after.counts['close']} close{f', {unrated} not rated' if unrated else ''}.",
    )
    yield from unchecked(after.cross_checked)


def _changes(found: Fix) -> Iterator[RenderableType]:
    if not found.changes:
        return
    table = Table(box=None, pad_edge=False)
    for name in ("band", "weight"):
        table.add_column(name, no_wrap=True, justify="right" if name == "weight" else "left")
    table.add_column("change", ratio=1)
    for change in found.changes:
        table.add_row(Text(change.band or "all"), str(change.weight), Text(change.title))
    yield table
    for band, why in found.elsewhere.items():
        yield Text(f"{band}: {why}.")
    if found.ended_early:
        yield Text(
            f"The search ended early, with its budget of {found.budget} networks: a better set may exist; --budget "
            f"{next_stage(found.budget)} looks further.",
            "yellow",
        )
    weights = ", ".join(f"{kind} {weight}" for kind, weight in WEIGHTS.items())
    yield Text(
        f"Smallest sum of weights found: {found.weight} ({weights} for "
        "every started tenth given up). Figures of new parts are what to look for."
    )


def _effects(found: Fix, everything: bool) -> Iterator[RenderableType]:
    if not found.changes:
        return
    remaining = {identity(finding) for finding in found.remaining}
    told = [e for e in found.effects if e.outcome != "gone" and identity(e.shown) not in remaining]
    cleared = sum(effect.outcome == "cleared" for effect in told)
    yield Text(f"What it does to the findings: {cleared} cleared", "bold")
    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column(no_wrap=True, min_width=7)
    table.add_column(no_wrap=True, justify="right", min_width=max(map(len, map(_change, told)), default=0))
    table.add_column(ratio=1)
    order = {"worse": 0, "new": 0, "cleared": 1}
    told.sort(key=lambda effect: order.get(effect.outcome, 2))
    folded = gathered(told, lambda effect: (effect.outcome, *_kind(effect.shown)))
    groups = [[effect] for effect in told] if everything else list(folded.values())
    room = len(groups) if everything else _room(found)
    for group in groups[:room]:
        worst = group[0]
        words = f"{_named(worst.shown)}{worst.shown.message}" if everything else _folded_words(group)
        table.add_row(Text(worst.outcome, _STYLES[worst.outcome]), _change(worst), Text(words))
    yield indented(table)
    if len(groups) > room:
        left = sum(len(group) for group in groups[room:])
        yield indented(f"and {left} findings more: --all lists every one")


def _kind(finding: Finding) -> tuple[str, ...]:
    """Return what findings have in common that differ only in band and operating point."""
    return finding.code, finding.part, finding.quantity, finding.case


def _folded_words(group: Sequence[Effect]) -> str:
    bands = list(dict.fromkeys(effect.shown.band for effect in group if effect.shown.band))
    where = f"{bands[0]} and {len(bands) - 1} more" if len(bands) > 1 else "".join(bands)
    return f"{effect_title(group[0].shown, group[0].outcome)}{f' ({where})' if where else ''}"


def _room(found: Fix) -> int:
    """Return how many rows of effects fit, so that the whole stays short."""
    changes = sum(math.ceil(len(change.title) / _WIDTH) for change in found.changes)
    words = sum(math.ceil(len(band + why) / _WIDTH) for band, why in found.elsewhere.items())
    left = _MOST_LINES - _BESIDE - changes - words - short_diff(found).count("\n")
    return max(left, _FEWEST)


def _change(effect: Effect) -> str:
    return f"{_used(effect.before)} > {_used(effect.after)}"


def _used(finding: Finding | None) -> str:
    return percent(None if finding is None else finding.used_fraction, "")


def _named(finding: Finding) -> str:
    """Band and operating point, in front of a message that does not tell them."""
    places = [place for place in (finding.band, finding.operating_point) if place is not None]
    return f"{', '.join(places)}: " if places else ""


def _remaining(found: Fix, everything: bool) -> Iterator[RenderableType]:
    if found.clears:
        return
    before = {identity(finding): finding for finding in found.before.verdict.findings}
    yield Text("What remains over, what limits it, and the closest that was reached", "bold red")
    groups = gathered(found.remaining, identity if everything else _kind)
    for worst, *others in groups.values():
        lines = [
            f"{_named(worst)}{worst.message}",
            f"  closest: {_used(worst)} used, {_used(before.get(identity(worst)))} before",
            *([f"  because: {worst.why}"] if everything else []),
            f"  {worst.fix}",
        ]
        if others:
            lines.append(f"  also: {', '.join(f'{_named(one)}{_used(one)}' for one in others)}")
        yield indented("\n".join(lines))


def _singles(singles: Sequence[Finding]) -> Iterator[RenderableType]:
    pressing = [finding for finding in singles if finding.state in ("over", "close")]
    if not pressing:
        return
    yield Text("\nSingle changes for each finding, each solved", "bold")
    for finding in pressing:
        yield indented(f"{finding.state}: {_named(finding)}{finding.message}")
        for text in [remedy.text for remedy in finding.remedies] or [finding.fix]:
            yield indented(text, 6)
