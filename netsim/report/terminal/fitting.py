"""Texts and tables made to fit a terminal: its signs, and its width."""

import unicodedata
from collections.abc import Iterator
from copy import copy
from dataclasses import replace

from rich.console import Console, Group, RenderableType
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

PLAIN_SIGNS = {
    "\u03a9": "ohm",
    "\u2126": "ohm",
    "\u00b5": "u",
    "\u03bc": "u",
    "°": "deg ",
    "–": "-",
    "—": "-",
    "−": "-",
    "×": "x",
    "·": " ",
    "±": "+-",
    "≤": "<=",
    "≥": ">=",
    "²": "^2",
    "…": "...",
    "’": "'",
    "→": "->",
}
"""What is written where an encoding lacks a sign of ours."""

_MOVING = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_INDENT = 2
_ANY_WIDTH = 10_000


def fitted(renderable: RenderableType, console: Console) -> RenderableType:
    """Return what a console can show of groups, paddings, tables and texts, with no figure cut.

    Signs that its encoding lacks are spelt plainly; what would move the cursor or turn the line is written out;
    tables too wide are written row by row, each cell after its heading.
    """
    match renderable:
        case str():
            return _text(Text(renderable), console)
        case Text():
            return _text(renderable, console)
        case Group():
            return Group(*(fitted(item, console) for item in renderable.renderables))
        case Padding():
            inside = fitted(renderable.renderable, console)
            return Padding(inside, (renderable.top, renderable.right, renderable.bottom, renderable.left))
        case Table():
            return _table(renderable, console)
    return renderable


def spelt(character: str, encoding: str) -> str:
    """Return a character as an encoding and a terminal can show it."""
    if unicodedata.category(character) in _MOVING and character != "\n":
        return character.encode("unicode_escape", "backslashreplace").decode("ascii")
    try:
        character.encode(encoding)
    except UnicodeEncodeError:
        return PLAIN_SIGNS.get(character, character)
    return character


def _text(text: Text, console: Console) -> Text:
    for character in sorted(set(text.plain)):
        plain = spelt(character, console.encoding)
        if plain != character:
            pieces = text.split(character, allow_blank=True)
            text = Text(plain, end=text.end).join(pieces)
    return text


def _table(table: Table, console: Console) -> RenderableType:
    table = copy(table)
    table.columns = [
        replace(
            column,
            header=fitted(column.header, console),
            _cells=[fitted(cell, console) for cell in column.cells],
        )
        for column in table.columns
    ]
    for column in table.columns:
        if column.no_wrap and column.width is None:
            widest = max((_widest_line(cell, console) for cell in (column.header, *column.cells)), default=0)
            column.min_width = max(column.min_width or 0, min(widest, column.max_width or widest))
    # Asked without a limit, so that the answer is what the columns need and not what they would be cut to.
    limitless = console.options.update(max_width=_ANY_WIDTH)
    for padding in (table.padding, (0, 1, 0, 0)):
        table.padding = padding
        if Measurement.get(console, limitless, table).minimum <= console.width:
            return table
    return Group(*_row_by_row(table))


def _widest_line(cell: RenderableType, console: Console) -> int:
    return Measurement.get(console, console.options.update(max_width=_ANY_WIDTH), cell).maximum


def _row_by_row(table: Table) -> Iterator[RenderableType]:
    headings = [str(column.header).replace("\n", " ").strip() for column in table.columns]
    for row in zip(*(list(column.cells) for column in table.columns), strict=True):
        for place, (heading, cell) in enumerate(zip(headings, row, strict=True)):
            indent = (0, 0, 0, _INDENT if place else 0)
            if isinstance(cell, Text):
                if cell.plain.strip():
                    yield Padding(Text.assemble(f"{heading}: " if heading else "", cell), indent)
            else:
                yield Text(f"{heading}:")
                yield Padding(cell, indent)
    yield Text("")
