"""A comparison for the terminal: better and worse in words, then band by band with a column of differences."""

from collections.abc import Iterator

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from netsim.advice.comparison import Comparison
from netsim.advice.quantities import BandComparison, PartMargin, Quantity
from netsim.report.comparison_words import FOOTNOTE, LABELS, difference_shown, shown
from netsim.report.terminal.tables import indented, unchecked

_STYLES = {"better": "green", "worse": "yellow"}


def render(found: Comparison) -> RenderableType:
    """Lay out a comparison for a console of 80 columns; texts of the files are never read as markup."""
    return Group(
        *_head(found),
        *_words(found),
        *_amplifier(found),
        *(_band(band) for band in found.bands),
        *_foot(found),
    )


def _head(found: Comparison) -> Iterator[RenderableType]:
    for label, title in zip(("First ", "Second"), found.titles, strict=True):
        yield Text.assemble((f"{label}: ", "bold"), title)


def _words(found: Comparison) -> Iterator[RenderableType]:
    for heading, lines in (
        ("The second is better in", found.better),
        ("The second is worse in", found.worse),
    ):
        if lines:
            yield Text(f"\n{heading}", "bold")
            yield from (indented(line) for line in lines)
    if not found.better and not found.worse:
        yield Text("\nNothing tells them apart.", "bold")


def _amplifier(found: Comparison) -> Iterator[RenderableType]:
    yield _table("all bands", found.amplifier, ())


def _band(band: BandComparison) -> RenderableType:
    return _table(band.name, band.quantities, band.parts)


def _table(heading: str, quantities: tuple[Quantity, ...], parts: tuple[PartMargin, ...]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column(Text(heading), min_width=24, no_wrap=True)
    for name in ("first", "second", "difference", ""):
        table.add_column(name, min_width=11 if name else 7, no_wrap=True, justify="right" if name else "left")
    for quantity in quantities:
        if quantity.name not in LABELS or (quantity.first is None and quantity.second is None):
            continue
        _row(table, LABELS[quantity.name], quantity)
    for part in parts:
        worst = Quantity("used_fraction", "1", part.first, part.second, part.leaning)
        _row(table, f"{part.part.replace('_', ' ')}, used", worst)
    return table


def _row(table: Table, label: str, quantity: Quantity) -> None:
    told = "" if quantity.leaning in ("same", "differs") else quantity.leaning
    table.add_row(
        label,
        shown(quantity, quantity.first),
        shown(quantity, quantity.second),
        difference_shown(quantity),
        Text(told, _STYLES.get(quantity.leaning, "")),
    )


def _foot(found: Comparison) -> Iterator[RenderableType]:
    if found.other_differences:
        yield Text("Other differences:", "bold")
        yield from (indented(line) for line in found.other_differences)
    if found.left_out:
        yield Text("Left out, because only one of the two is judged by it:", "bold")
        yield from (indented(line) for line in found.left_out)
    for which, names in (("first", found.only_first), ("second", found.only_second)):
        if names:
            yield Text(f"Only in the {which}: {', '.join(names)}")
    yield Text(FOOTNOTE)
    yield from unchecked(all(walked.verdict.cross_checked for walked in found.results))
    yield Text("A model's figures: they say which ratings given are exceeded, not that it may be touched.")
