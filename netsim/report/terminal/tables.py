"""Tables and lines that several texts of the terminal share."""

from collections.abc import Iterable, Iterator

from rich import box
from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.advice.bench.comparison import Compared
from netsim.description.formatting import NOTHING
from netsim.report.bench_words import en_words, reading_name, with_range

BAND_COLUMNS = 9
"""Letters of a band's name that are shown."""


def figures_table(first: str, *figures: str, width: int = BAND_COLUMNS) -> Table:
    """Return a table whose first column names something and whose others give figures of it."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column(first, no_wrap=True, max_width=width, overflow="ellipsis")
    for heading in figures:
        table.add_column(heading, justify="right", no_wrap=True)
    return table


def readings_table(calculated: str, readings: Iterable[tuple[Compared, bool]]) -> Table:
    """Return a table of readings beside what is calculated; what is not believed stands out."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for heading in ("line", "reading", "band", calculated, "read", "E_n"):
        words = heading in ("reading", "band")
        table.add_column(heading, justify="left" if words else "right", no_wrap=heading != "reading")
    for entry, believed in readings:
        table.add_row(
            str(entry.line),
            Text(reading_name(entry)),
            Text(entry.band or NOTHING),
            with_range(entry.computed, entry.computed_half_width, entry.unit),
            with_range(entry.measured, entry.measured_half_width, entry.unit),
            Text(en_words(entry), "" if believed else "bold red"),
        )
    return table


def indented(what: str | RenderableType, by: int = 2) -> Padding:
    """Return a text or a table some columns to the right; a text is never read as markup."""
    return Padding(Text(what) if isinstance(what, str) else what, (0, 0, 0, by))


def unchecked(cross_checked: bool, before: str = "") -> Iterator[Text]:
    """Say that ngspice took no part, where it did not."""
    if not cross_checked:
        words = "NOT CROSS-CHECKED: solved by two-port analysis alone, without ngspice."
        yield Text(f"{before}{words}", "bold yellow")
