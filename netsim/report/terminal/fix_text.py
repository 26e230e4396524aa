"""A fix for the terminal: what to do, what it does to every finding, what remains; the diff follows."""

from collections.abc import Iterator, Sequence

from rich.console import Group as Lines
from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.advice.change import WEIGHTS
from netsim.advice.fix.effects import Effect, identity
from netsim.advice.fix.fix import Fix
from netsim.report.finding_groups import grouped
from netsim.report.notation import no_change_words, place_of
from netsim.report.terminal.result_text import CAUTION, UNCHECKED
from netsim.verdict.result import Finding

_STYLES = {"cleared": "green", "better": "green", "worse": "yellow", "new": "yellow", "same": "", "gone": ""}


def render(found: Fix, singles: Sequence[Finding] = (), *, everything: bool = True) -> RenderableType:
    """Lay out a fix for a console of 80 columns; texts of the file are never read as markup.

    Parameters
    ----------
    found : Fix
    singles : sequence of Finding
        Of the amplifier as it stands, with their remedies.
    everything : bool
        Whether every finding is listed, before and after; else what became worse or is new.
    """
    return Lines(
        *_head(found),
        *_moves(found, everything=everything),
        *_effects(found, everything=everything),
        *_remaining(found, everything=everything),
        *_singles(singles),
        *_foot(found),
    )


def _head(found: Fix) -> Iterator[RenderableType]:
    before, after = found.before.verdict, found.after.verdict
    yield Text(before.title, "bold")
    if not before.counts["over"]:
        yield Text(f"{no_change_words(before.counts['not_rated'])}.")
        yield Text(CAUTION)
        return
    verdict = "Nothing given is exceeded after it" if found.clears else "Not everything can be cleared"
    yield Text.assemble(
        (verdict, "bold" if found.clears else "bold red"),
        f": {before.counts['over']} over and {before.counts['close']} close become "
        f"{after.counts['over']} over and {after.counts['close']} close.",
    )
    if not after.cross_checked:
        yield Text(UNCHECKED, "bold yellow")


def _moves(found: Fix, *, everything: bool) -> Iterator[RenderableType]:
    if not found.changes:
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("\nband", "weight"):
        table.add_column(name, no_wrap=True, justify="right" if name == "weight" else "left")
    table.add_column("change", ratio=1)
    for change in found.changes:
        table.add_row(Text(change.band or "all"), str(change.weight), Text(change.title))
    yield table
    if found.ended_early:
        yield Text(
            "The search ended with its budget: a smaller set may exist; --budget N looks further.", "yellow"
        )
    weights = ", ".join(f"{kind} {weight}" for kind, weight in WEIGHTS.items())
    counts = f" One change counts: {weights} (output: for every started tenth given up)."
    yield Text(
        f"Smallest sum of weights found: {found.weight}, over {found.tried} combinations solved. Figures of new "
        f"parts are what to look for.{counts if everything else ''}"
    )


def _effects(found: Fix, *, everything: bool) -> Iterator[RenderableType]:
    if not found.changes:
        return
    cleared = [effect for effect in found.effects if effect.outcome == "cleared"]
    others = [effect for effect in found.effects if effect.outcome not in ("cleared", "gone")]
    number = {kind: sum(e.outcome == kind for e in others) for kind in ("better", "same", "worse", "new")}
    counts = "".join(f", {count} {kind}" for kind, count in number.items() if count)
    yield Text(f"\nWhat it does to the findings: {len(cleared)} cleared{counts}", "bold")
    shown = [*cleared, *others] if everything else [e for e in others if e.outcome in ("worse", "new")]
    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, justify="right")
    table.add_column(ratio=1)
    for first, *more in _alike(shown):
        told = first.after or first.before
        assert told is not None  # one of the two is there
        also = ", ".join(
            f"{place_of(f)} {_change(e)}" for e in more if (f := e.after or e.before) is not None
        )
        table.add_row(
            Text(first.outcome, _STYLES[first.outcome]),
            _change(first),
            Text(_named(told) + told.message + (f"; also {also}" if also else "")),
        )
    yield Padding(table, (0, 0, 0, 2))


def _alike(effects: Sequence[Effect]) -> list[list[Effect]]:
    """Put effects of one outcome on one cause in one part together."""
    rows: dict[tuple[str, ...], list[Effect]] = {}
    for effect in effects:
        told = effect.after or effect.before
        assert told is not None  # one of the two is there
        rows.setdefault((effect.outcome, told.code, told.part, told.quantity, told.case), []).append(effect)
    return list(rows.values())


def _change(effect: Effect) -> str:
    return f"{_used(effect.before)} > {_used(effect.after)}"


def _used(finding: Finding | None) -> str:
    return "-" if finding is None or finding.used_fraction is None else f"{finding.used_fraction:.0%}"


def _named(finding: Finding) -> str:
    """Band and operating point, in front of a message that does not tell them."""
    places = [place for place in (finding.band, finding.operating_point) if place is not None]
    return f"{', '.join(places)}: " if places else ""


def _remaining(found: Fix, *, everything: bool) -> Iterator[RenderableType]:
    if found.clears:
        return
    before = {identity(finding): finding for finding in found.before.verdict.findings}
    yield Text("\nWhat remains over, what limits it, and the closest that was reached", "bold red")
    for group in grouped(enumerate(found.remaining)):
        finding = group.worst
        was = _used(before.get(identity(finding)))
        lines = [
            f"{_named(finding)}{finding.message}",
            f"  closest: {_used(finding)} used, {was} before",
            *([f"  because: {finding.why}"] if everything else []),
            *([f"  {finding.fix}"] if finding.fix else []),
        ]
        if group.others:
            lines.append(f"  also: {', '.join(f'{place_of(f)} {_used(f)}' for _, f in group.others)}")
        yield Padding(Text("\n".join(lines)), (0, 0, 0, 2))


def _singles(singles: Sequence[Finding]) -> Iterator[RenderableType]:
    pressing = [finding for finding in singles if finding.state in ("over", "close")]
    if not pressing:
        return
    yield Text("\nSingle changes for each finding, each solved", "bold")
    for finding in pressing:
        yield Padding(Text(f"{finding.state}: {_named(finding)}{finding.message}"), (0, 0, 0, 2))
        for text in [remedy.text for remedy in finding.remedies] or [finding.fix]:
            yield Padding(Text(text), (0, 0, 0, 6))


def _foot(found: Fix) -> Iterator[RenderableType]:
    if found.changes:
        yield Text(f"{CAUTION}\n")
