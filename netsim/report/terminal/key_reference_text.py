"""The reference of the file's keys, for the terminal."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from netsim.description.key_reference import KeyRow

_HEAD = (
    "Keys of the amplifier file, table by table; * must be there. Quantities are texts with units, of a value that is "
    'known within limits only with these behind it: "320 pF +- 5 %".'
)


def render(rows: Sequence[KeyRow]) -> RenderableType:
    """Lay out all keys of the file with unit, range, default and where the default comes from."""
    return Group(Text(_HEAD), *_tables(rows), Text("\nNext: netsim new FILE writes a file to start from"))


def _tables(rows: Sequence[KeyRow]) -> Iterator[RenderableType]:
    for table, keys in groupby(rows, key=lambda row: row.table):
        yield Text(f"\n{table}", "bold")
        for row in keys:
            star = "*" if row.required else ""
            yield Padding(
                Text.assemble((f"{row.key}{star}", "bold"), f" = {row.example}"), (0, 0, 0, 2), expand=False
            )
            yield Padding(Text(words(row)), (0, 0, 0, 6), expand=False)


def words(row: KeyRow) -> str:
    """Write what a key means, and what may stand and holds by default there, in one or two sentences."""
    parts = [row.range] if row.range else []
    if row.default:
        source = f" ({row.default_source})" if row.default_source else ""
        parts.append(f"without it {row.default}{source}")
    parts += ["no limits"] if row.unit and not row.takes_limits else []
    return f"{row.description}. {'; '.join(parts)}".rstrip(" ")
