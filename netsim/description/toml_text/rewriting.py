"""Changes written into the text of a TOML file; comments, order and spacing stay.

Every change is a splice at the place where the syntax tree finds the value, so whatever the reader accepts
can be changed: headers, dotted keys, inline tables, arrays of either kind, and any mixture of them.
"""

import difflib
import io
import json
import tomllib
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, NoReturn

from netsim.description.key_path import KeyPath, printed_key
from netsim.description.toml_text.syntax import Pair, Syntax, entries
from netsim.description.toml_text.values import (
    header_lines,
    leaves,
    plain,
    render,
    render_key,
    render_name,
    same,
    wants_header,
)
from netsim.errors import DescriptionError, Problem

if TYPE_CHECKING:
    from tree_sitter import Node

Change = tuple[KeyPath, Any]
"""Where, and what is to stand there as a file has it; None takes the key away."""

_ABSENT = object()
_ITEMS_ARE_TABLES = "the items here are tables; give a dict of the keys"


def rewrite(text: str, changes: Iterable[Change]) -> str:
    """Return the text of a file with changes made.

    Parameters
    ----------
    text : str
        TOML that the reader has accepted.
    changes : iterable of (path, value)
        In the order they are to be made. A value is a text, number, list or dict as a file has it, or None
        to take the key away. Tables on the way that are missing are made; a list grows at its end.

    Returns
    -------
    str
        TOML that says what the old text said, and the changes.

    Raises
    ------
    DescriptionError
        ``wrong_type`` if no file can hold a value, ``no_such_item`` if a path leads behind the end of a list
        or into what is no table.
    """
    rewriter = _Rewriter(text)
    for path, value in changes:
        if value is None:
            rewriter.remove(path)
        else:
            rewriter.put(path, plain(value, path))
    return rewriter.text()


def difference(before: str, after: str, path: str, around: int = 3) -> str:
    """Return the unified diff of two texts, as ``patch`` reads it; empty if they are equal.

    Parameters
    ----------
    before, after : str
        Lines end at line feeds and nowhere else; carriage returns are part of the line.
    path : str
        Of the file, for the header; in quotes with escapes where it holds more than plain characters.
    around : int
        How many lines stay in sight on either side of a change.
    """
    old, new = (list(io.StringIO(text, newline="\n")) for text in (before, after))
    name = path if path.isprintable() and not set(path) & set('"\\') else json.dumps(path)
    name += "\t" if any(c.isspace() for c in path) else ""
    lines = difflib.unified_diff(old, new, name, name, n=around)
    return "".join(
        line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n" for line in lines
    )


class _Rewriter:
    """A text while it is changed, and what it is to say by then."""

    def __init__(self, text: str) -> None:
        self._syntax = Syntax(text.encode())
        self._table: Any = tomllib.loads(text)
        self._newline = "\r\n" if "\r\n" in text else "\n"

    def text(self) -> str:
        """Return the text, once it is known to say what it should."""
        text = self._syntax.source.decode()
        if not same(tomllib.loads(text), self._table):
            raise AssertionError("the rewritten file does not say what it should")
        return text

    def put(self, path: KeyPath, value: Any) -> None:
        """Write a value; of a table or list that is there, only what differs."""
        old = _find(self._table, path)
        if same(old, value):
            return
        if isinstance(old, dict) and isinstance(value, dict):
            for key in [key for key in old if key not in value]:
                self.remove((*path, key))
            for key, inner in value.items():
                self.put((*path, key), inner)
        elif isinstance(old, list) and isinstance(value, list) and self._goes_by_item(path, old, value):
            for index in range(len(old) - 1, len(value) - 1, -1):
                self.remove((*path, index))
            for index, inner in enumerate(value):
                self.put((*path, index), inner)
        elif old is _ABSENT:
            self._insert(path, value)
        else:
            self._exchange(path, value)

    def _exchange(self, path: KeyPath, value: Any) -> None:
        """Write a value in place of one of another kind."""
        node = self._syntax.value(path)
        if node is not None:
            self._splice(node.start_byte, node.end_byte, render(value))
            _assign(self._table, path, value)
        elif isinstance(path[-1], int):
            _refuse(path, _ITEMS_ARE_TABLES)
        else:  # what headers or dotted keys make becomes something else
            self.remove(path)
            self._insert(path, value)

    def _goes_by_item(self, path: KeyPath, old: list[Any], value: list[Any]) -> bool:
        """Tell whether a list keeps its lines: one as long as before, or tables with headers both times."""
        if not value or not old:
            return False
        has_headers = self._syntax.value(path) is None
        return wants_header(value) if has_headers else len(old) == len(value)

    def remove(self, path: KeyPath) -> None:
        """Take away a key, a table, or an item of a list; nothing if it is not there."""
        if _find(self._table, path) is _ABSENT:
            return
        pair = self._syntax.pair(path)
        if pair is not None:
            self._delete_pair(pair)
        elif isinstance(path[-1], int) and (array := self._syntax.value(path[:-1])) is not None:
            self._delete_entry(entries(array)[path[-1]])
        else:
            self._delete_table(path)
        del _find(self._table, path[:-1])[path[-1]]
        # Tables that only the names of what went had made stay, empty.
        said = tomllib.loads(self._syntax.source.decode())
        lost = next((n for n in range(1, len(path)) if _find(said, path[:n]) is _ABSENT), None)
        if lost is not None:
            empty = _find(self._table, path[:lost])
            del _find(self._table, path[: lost - 1])[path[lost - 1]]
            self._insert(path[:lost], empty)

    def _splice(self, start: int, end: int, text: str) -> None:
        source = self._syntax.source
        self._syntax = Syntax(source[:start] + text.encode() + source[end:])

    # What is taken away

    def _delete_pair(self, pair: Pair) -> None:
        table = pair.node.parent
        if table is not None and table.type == "inline_table":
            self._delete_entry(pair.node)
        else:
            start, end = pair.node.start_byte, pair.value.end_byte
            self._splice(self._syntax.line_start(start), self._syntax.next_line(end), "")

    def _delete_entry(self, entry: "Node") -> None:
        """Take an entry out of an array or inline table, with the comma behind it, else that before it."""
        assert entry.parent is not None  # the array or inline table
        children = entry.parent.children
        place = children.index(entry)
        source = self._syntax.source
        start, end = entry.start_byte, entry.end_byte
        comma = next((child for child in children[place + 1 :] if child.type == ","), None)
        if comma is not None:
            last = comma.end_byte
            while source[last : last + 1] in (b" ", b"\t"):
                last += 1
            self._splice(comma.start_byte, last, "")
            self._splice(start, end, "")
            return
        while source[start - 1 : start] in (b" ", b"\t"):
            start -= 1
        self._splice(start, end, "")
        comma = next((child for child in reversed(children[:place]) if child.type == ","), None)
        if comma is not None:
            self._splice(comma.start_byte, comma.end_byte, "")

    def _delete_table(self, path: KeyPath) -> None:
        """Take away all headers and dotted keys that make a table, or tables of an array."""
        while dotted := self._syntax.dotted(path):
            self._delete_pair(dotted[-1])
        syntax = self._syntax
        for number in reversed(syntax.under(path)):
            node = syntax.sections[number].node
            assert node is not None  # only the top has none
            self._splice(syntax.line_start(node.start_byte), syntax.body_end(number)[1], "")

    # What is added

    def _insert(self, path: KeyPath, value: Any) -> None:
        """Write what is not there yet, with the tables it wants around it."""
        parent, key = path[:-1], path[-1]
        around = _find(self._table, parent)
        if around is _ABSENT:
            if isinstance(key, int) and key:
                _refuse(path, "there is no list yet, so [0] is the first item that can be added")
            self._insert(parent, [value] if isinstance(key, int) else {key: value})
            return
        if isinstance(key, int):
            self._append(parent, key, around, value)
        elif not isinstance(around, dict):
            _refuse(path, "what stands there is no table, so no key can be added to it")
        else:
            self._add_key(parent, key, value)
        _assign(self._table, path, value)

    def _add_key(self, parent: KeyPath, key: str, value: Any) -> None:
        line = f"{render_name(key)} = {render(value)}"
        inline = self._syntax.value(parent)
        own = next((n for n, section in enumerate(self._syntax.sections) if section.path == parent), None)
        if inline is not None:
            self._add_entry(inline, line)
        elif own is None and (dotted := self._syntax.dotted(parent)):
            self._add_dotted(dotted[-1], parent, key, value)
        elif wants_header(value):
            self._add_sections([own or 0, *self._syntax.under(parent)][-1], (*parent, key), value)
        elif own is None:  # only longer headers make the table: it gets one of its own before them
            node = self._syntax.sections[self._syntax.under(parent)[0]].node
            assert node is not None  # only the top has none
            start = self._syntax.line_start(node.start_byte)
            lines = (f"[{render_key(parent)}]", line, "", "")
            self._splice(start, start, self._newline.join(lines))
        elif section_end := self._syntax.sections[own].end:
            section = self._syntax.sections[own]
            at = section.pairs[-1].node.start_byte if section.pairs else None
            self._add_line(section_end, line, at)
        else:
            start, _ = self._syntax.body_end(0)
            before = self._syntax.source[:start]
            lead = self._newline if before and not before.endswith(b"\n") else ""
            more = self._newline if len(self._syntax.sections) > 1 else ""
            self._splice(start, start, lead + line + self._newline + more)

    def _add_line(self, end: int, line: str, beside: int | None) -> None:
        """Write a line behind that of a place, as far from the margin as what begins at ``beside``."""
        margin = ""
        if beside is not None:
            before = self._syntax.source[self._syntax.line_start(beside) : beside].decode()
            margin = before if not before.strip() else ""
        place = self._syntax.line_end(end)
        self._splice(place, place, self._newline + margin + line)

    def _add_dotted(self, beside: Pair, parent: KeyPath, key: str, value: Any) -> None:
        """Write keys behind one that makes their table by its dotted name."""
        home = len(beside.path) - len(beside.steps)
        lines = [
            f"{render_key(path[home:])} = {render(leaf)}" for path, leaf in leaves((*parent, key), value)
        ]
        table = beside.node.parent
        if table is not None and table.type == "inline_table":
            self._add_entry(table, ", ".join(lines))
            return
        for line in reversed(lines):
            self._add_line(beside.value.end_byte, line, beside.node.start_byte)

    def _append(self, parent: KeyPath, index: int, array: Any, value: Any) -> None:
        length = len(array) if isinstance(array, list) else 0
        if index != length:
            _refuse(
                (*parent, index), f"there are {length} items, so [{length}] is the next that can be added"
            )
        node = self._syntax.value(parent)
        if node is not None:
            self._add_entry(node, render(value))
        elif isinstance(value, dict):
            self._add_sections(self._syntax.under(parent)[-1], parent, [value])
        else:
            _refuse((*parent, index), _ITEMS_ARE_TABLES)

    def _add_entry(self, around: "Node", text: str) -> None:
        """Write an entry behind the last of an array or inline table."""
        there = entries(around)
        place = there[-1].end_byte if there else around.start_byte + 1
        self._splice(place, place, f", {text}" if there else text)

    def _add_sections(self, number: int, path: KeyPath, value: Any) -> None:
        """Write a table, or tables of an array, with headers behind a section."""
        place, _ = self._syntax.body_end(number)
        before, after = self._syntax.source[:place], self._syntax.source[place:]
        newline = self._newline
        lead = newline if before and not before.endswith(b"\n") else ""
        lead += newline if before and not before.endswith((b"\n\n", b"\n\r\n")) else ""
        tail = newline if after and not after.startswith((b"\n", b"\r\n")) else ""
        self._splice(place, place, lead + newline.join(header_lines(path, value)) + newline + tail)


def _find(table: Any, path: KeyPath) -> Any:
    for step in path:
        if isinstance(step, int):
            if not isinstance(table, list) or step >= len(table):
                return _ABSENT
        elif not isinstance(table, dict) or step not in table:
            return _ABSENT
        table = table[step]
    return table


def _assign(table: Any, path: KeyPath, value: Any) -> None:
    inner = _find(table, path[:-1])
    if isinstance(inner, list) and path[-1] == len(inner):
        inner.append(value)
    else:
        inner[path[-1]] = value


def _refuse(path: KeyPath, message: str) -> NoReturn:
    raise DescriptionError(Problem("no_such_item", message, key=printed_key(path)))
