"""Tables and lines that several texts of the terminal share."""

from collections.abc import Iterator

from rich import box
from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

BAND_COLUMNS = 9
"""Letters of a band's name that are shown."""


def figures_table(first: str, *figures: str, width: int = BAND_COLUMNS) -> Table:
    """Return a table whose first column names something and whose others give figures of it."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column(first, no_wrap=True, max_width=width, overflow="ellipsis")
    for heading in figures:
        table.add_column(heading, justify="right", no_wrap=True)
    return table


def indented(what: str | RenderableType, by: int = 2) -> Padding:
    """Return a text or a table some columns to the right; a text is never read as markup."""
    return Padding(Text(what) if isinstance(what, str) else what, (0, 0, 0, by))


def unchecked(cross_checked: bool, before: str = "") -> Iterator[Text]:
    """Say that ngspice took no part, where it did not."""
    if not cross_checked:
        words = "NOT CROSS-CHECKED: solved by two-port analysis alone, without ngspice."
        yield Text(f"{before}{words}", "bold yellow")
