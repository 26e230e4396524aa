"""A fix for the terminal: what to do, what it does to every finding, what remains; the diff follows."""

from collections.abc import Iterator, Mapping

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.advice.fix.change import WEIGHTS
from netsim.advice.fix.fix import Effect, Fix, Identity, identity
from netsim.advice.fix.single_changes import Option
from netsim.report.terminal.result_text import UNCHECKED
from netsim.verdict.result import Finding

_STYLES = {"cleared": "green", "better": "green", "worse": "yellow", "new": "yellow", "same": "", "gone": ""}


def render(found: Fix, singles: Mapping[Identity, tuple[Option, ...]]) -> RenderableType:
    """Lay out a fix for a console of 80 columns; texts of the file are never read as markup."""
    return Group(
        *_head(found),
        *_moves(found),
        *_effects(found),
        *_remaining(found),
        *_singles(found, singles),
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
    if not found.moves:
        return
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("band", "weight"):
        table.add_column(name, no_wrap=True, justify="right" if name == "weight" else "left")
    table.add_column("change", ratio=1)
    for move in found.moves:
        table.add_row(Text(move.band or "all"), str(move.weight), Text(move.title))
    yield table
    weights = ", ".join(f"{kind} {weight}" for kind, weight in WEIGHTS.items())
    yield Text(
        f"Smallest sum of weights found, {found.weight}, over {found.tried} combinations solved. One change counts: "
        f"{weights} (output: for every started tenth given up). Figures of new parts are what to look for."
    )


def _effects(found: Fix) -> Iterator[RenderableType]:
    if not found.moves:
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
    if found.clears or not found.moves:
        return
    yield Text("\nWhat remains over, and what limits it", "bold red")
    for finding in found.remaining:
        yield Padding(Text(f"{_named(finding)}{finding.message}\n  because: {finding.why}"), (0, 0, 0, 2))


def _singles(found: Fix, singles: Mapping[Identity, tuple[Option, ...]]) -> Iterator[RenderableType]:
    if not singles:
        return
    yield Text("\nSingle changes for each finding", "bold")
    for finding in found.before.verdict.findings:
        listed = singles.get(identity(finding))
        if listed is None:
            continue
        yield Padding(Text(f"{finding.state}: {_named(finding)}{finding.message}"), (0, 0, 0, 2))
        for option in listed:
            after = "-" if option.after is None else f"{option.after:.0%}"
            yield Padding(
                Text(
                    f"{option.move.title}: {_used(finding)} > {after}, "
                    f"{option.over_before} over > {option.over_after}"
                ),
                (0, 0, 0, 6),
            )
        if not listed:
            yield Padding(Text("no single change mends it without doing harm elsewhere"), (0, 0, 0, 6))


def _foot(found: Fix) -> Iterator[RenderableType]:
    if found.moves:
        yield Text(
            "\nA model's figures: they say which ratings given are exceeded, not that it may be touched.\n"
        )
