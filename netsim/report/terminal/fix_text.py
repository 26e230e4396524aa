"""A fix for the terminal: what to do, what it does to every finding, what remains; the diff follows."""

from collections.abc import Iterator, Sequence

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.advice.change import WEIGHTS
from netsim.advice.fix.effects import Effect, identity
from netsim.advice.fix.fix import Fix
from netsim.report.terminal.result_text import UNCHECKED
from netsim.verdict.result import Finding

_STYLES = {"cleared": "green", "better": "green", "worse": "yellow", "new": "yellow", "same": "", "gone": ""}


def render(found: Fix, singles: Sequence[Finding] = ()) -> RenderableType:
    """Lay out a fix for a console of 80 columns; texts of the file are never read as markup.

    Parameters
    ----------
    found : Fix
    singles : sequence of Finding
        Of the amplifier as it stands, with their remedies.
    """
    return Group(
        *_head(found),
        *_moves(found),
        *_effects(found),
        *_remaining(found),
        *_singles(singles),
        *_foot(found),
    )


def _head(found: Fix) -> Iterator[RenderableType]:
    before, after = found.before.verdict, found.after.verdict
    yield Text(before.title, "bold")
    if not before.counts["over"]:
        yield Text("Nothing given is exceeded: no change is needed.")
        return
    verdict = "Nothing given is exceeded after it" if found.clears else "Not everything can be cleared"
    yield Text.assemble(
        (verdict, "bold" if found.clears else "bold red"),
        f": {before.counts['over']} over and {before.counts['close']} close become "
        f"{after.counts['over']} over and {after.counts['close']} close.",
    )
    if not after.cross_checked:
        yield Text(UNCHECKED, "bold yellow")


def _moves(found: Fix) -> Iterator[RenderableType]:
    if not found.changes:
        return
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("band", "weight"):
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
    yield Text(
        f"Smallest sum of weights found, {found.weight}, over {found.tried} combinations solved. One change counts: "
        f"{weights} (output: for every started tenth given up). Figures of new parts are what to look for."
    )


def _effects(found: Fix) -> Iterator[RenderableType]:
    if not found.changes:
        return
    cleared = [effect for effect in found.effects if effect.outcome == "cleared"]
    others = [effect for effect in found.effects if effect.outcome not in ("cleared", "gone")]
    yield Text(f"\nWhat it does to the findings: {len(cleared)} cleared", "bold")
    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, justify="right")
    table.add_column(ratio=1)
    for effect in [*cleared, *others]:
        shown = effect.after or effect.before
        assert shown is not None  # one of the two is there
        table.add_row(
            Text(effect.outcome, _STYLES[effect.outcome]),
            _change(effect),
            Text(_named(shown) + shown.message),
        )
    yield Padding(table, (0, 0, 0, 2))


def _change(effect: Effect) -> str:
    return f"{_used(effect.before)} > {_used(effect.after)}"


def _used(finding: Finding | None) -> str:
    return "-" if finding is None or finding.used_fraction is None else f"{finding.used_fraction:.0%}"


def _named(finding: Finding) -> str:
    """Band and operating point, in front of a message that does not tell them."""
    places = [place for place in (finding.band, finding.operating_point) if place is not None]
    return f"{', '.join(places)}: " if places else ""


def _remaining(found: Fix) -> Iterator[RenderableType]:
    if found.clears:
        return
    before = {identity(finding): finding for finding in found.before.verdict.findings}
    yield Text("\nWhat remains over, what limits it, and the closest that was reached", "bold red")
    for finding in found.remaining:
        was = _used(before.get(identity(finding)))
        lines = [
            f"{_named(finding)}{finding.message}",
            f"  closest: {_used(finding)} used, {was} before",
            f"  because: {finding.why}",
            f"  {finding.fix}",
        ]
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
        yield Text(
            "\nA model's figures: they say which ratings given are exceeded, not that it may be touched.\n"
        )
