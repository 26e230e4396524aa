"""The syntax of a TOML text: its sections and pairs, each with its path and its place.

The standard library's reader gives values without places; tree-sitter gives the tree. Made for text that
the former has accepted: on anything else pairs may be missing.
"""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import TYPE_CHECKING

from netsim.description.key_path import KeyPath

if TYPE_CHECKING:
    from tree_sitter import Node, Parser

Steps = tuple[tuple[KeyPath, "Node"], ...]
"""Each name of a key: the path down to it, and where it stands."""

_BLANK = re.compile(rb"[ \t]*\r?\n")
_COMMENT = re.compile(rb"[ \t]*#[^\n]*(?:\n|$)")


@dataclass(frozen=True)
class Pair:
    """One ``key = value``: the names of its key, the whole of it, its value."""

    steps: Steps
    node: "Node"
    value: "Node"

    @property
    def path(self) -> KeyPath:
        """Path of the value."""
        return self.steps[-1][0]


@dataclass(frozen=True)
class Section:
    """A header with the pairs under it, or what stands before the first header.

    Attributes
    ----------
    path : tuple of str or int
        Of the table; an item of an array of tables ends in its number.
    steps : tuple
        Names of the header, with the number of the newest item behind an array's; none at the top.
    node : Node or None
        The header with its pairs; None at the top.
    is_item : bool
        Whether it is one of an array of tables.
    pairs : list of Pair
    """

    path: KeyPath = ()
    steps: Steps = ()
    node: "Node | None" = None
    is_item: bool = False
    pairs: list[Pair] = field(default_factory=list)

    @property
    def end(self) -> int:
        """Where its last pair ends, or its header; 0 at a top without pairs."""
        if self.pairs:
            return self.pairs[-1].value.end_byte
        brackets = [child for child in self.node.children if child.type in ("]", "]]")] if self.node else []
        return brackets[0].end_byte if brackets else 0


def starts(path: KeyPath, beginning: KeyPath) -> bool:
    """Tell whether a path leads through, or to, where another ends."""
    return path[: len(beginning)] == beginning


@cache
def _parser() -> "Parser":
    import tree_sitter_toml
    from tree_sitter import Language, Parser

    return Parser(Language(tree_sitter_toml.language()))


class Syntax:
    """One text, taken apart.

    Parameters
    ----------
    source : bytes
        TOML in UTF-8, with line ends of either kind.
    """

    def __init__(self, source: bytes) -> None:
        self.source = source

    @cached_property
    def sections(self) -> list[Section]:
        """Sections in the order of the file, the top first."""
        top = Section()
        found = [top]
        newest: dict[KeyPath, int] = {}
        for node in _parser().parse(self.source).root_node.named_children:
            if node.type == "pair":
                top.pairs.append(_pair((), node))
            elif node.type in ("table", "table_array_element"):
                found.append(_section(node, newest))
        return found

    def under(self, path: KeyPath) -> list[int]:
        """Count out the headers that begin with a path."""
        return [n for n, section in enumerate(self.sections) if section.node and starts(section.path, path)]

    def pair(self, path: KeyPath) -> Pair | None:
        """Find the pair that gives the value of a path, wherever it is written."""
        return next((pair for pair in self._towards(path) if pair.path == path), None)

    def value(self, path: KeyPath) -> "Node | None":
        """Find a value that is written as one; None for what headers or dotted keys make."""
        pair = self.pair(path)
        if pair is not None:
            return pair.value
        if not path or isinstance(path[-1], str):
            return None
        array = self.value(path[:-1])
        return None if array is None else entries(array)[int(path[-1])]

    def dotted(self, path: KeyPath) -> list[Pair]:
        """List the pairs whose dotted keys make the table at a path."""
        return [pair for pair in self._towards(path) if any(step == path for step, _ in pair.steps[:-1])]

    def _towards(self, path: KeyPath) -> Iterator[Pair]:
        """Go through all pairs of sections, and of the inline tables on the way to a path, in file order."""
        pending = [pair for section in reversed(self.sections) for pair in reversed(section.pairs)]
        while pending:
            pair = pending.pop()
            yield pair
            if starts(path, pair.path) and path != pair.path:
                base, value = pair.path, pair.value
                while value.type == "array" and len(path) > len(base):
                    value, base = entries(value)[int(path[len(base)])], path[: len(base) + 1]
                pending += reversed(list(pairs_of(base, value)))

    def line_start(self, place: int) -> int:
        """Return where the line of a place begins."""
        return self.source.rfind(b"\n", 0, place) + 1

    def line_end(self, place: int) -> int:
        """Return where the line of a place ends, without the characters that end it."""
        end = self.source.find(b"\n", place)
        end = len(self.source) if end < 0 else end
        return end - 1 if end > place and self.source[end - 1 : end] == b"\r" else end

    def next_line(self, place: int) -> int:
        """Return where the line behind that of a place begins."""
        end = self.source.find(b"\n", place)
        return len(self.source) if end < 0 else end + 1

    def body_end(self, number: int) -> tuple[int, int]:
        """Find where a section ends: behind its last pair and the comments that belong to it.

        Returns
        -------
        end, blank : int
            Without and with the blank lines that follow. Comments right above the next header are that
            header's, unless a blank line parts them from it.
        """
        end = self.next_line(self.sections[number].end) if self.sections[number].end else 0
        comments = _through(_COMMENT, self.source, end)
        blank = _through(_BLANK, self.source, comments)
        if blank == comments and comments < len(self.source):
            return end, end
        return comments, blank


def pairs_of(base: KeyPath, value: "Node") -> Iterator[Pair]:
    """Go through the pairs of an inline table whose path is ``base``; none of any other value."""
    if value.type == "inline_table":
        yield from (_pair(base, child) for child in value.named_children if child.type == "pair")


def entries(around: "Node") -> list["Node"]:
    """Return the values of an array, or the pairs of an inline table."""
    return [child for child in around.named_children if child.type != "comment"]


def _section(node: "Node", newest: dict[KeyPath, int]) -> Section:
    path: KeyPath = ()
    steps: list[tuple[KeyPath, Node]] = []
    names = list(_names(node.named_children[0]))
    is_item = node.type == "table_array_element"
    for number, (name, key) in enumerate(names, start=1):
        path = (*path, name)
        steps.append((path, key))
        if number == len(names) and is_item:
            newest[path] = newest.get(path, -1) + 1
        if path in newest:
            path = (*path, newest[path])
    pairs = [_pair(path, child) for child in node.named_children[1:] if child.type == "pair"]
    return Section(path, tuple(steps), node, is_item, pairs)


def _pair(base: KeyPath, node: "Node") -> Pair:
    steps = []
    path = base
    for name, key in _names(node.named_children[0]):
        path = (*path, name)
        steps.append((path, key))
    # A comment behind the value belongs to the pair in this tree, too.
    return Pair(tuple(steps), node, node.named_children[1])


def _names(node: "Node") -> Iterator[tuple[str, "Node"]]:
    """Take a key apart into its names, outermost first."""
    stack = [node]
    while stack:
        node = stack.pop()
        text = (node.text or b"").decode("utf-8", "replace")
        if node.type == "dotted_key":
            stack += reversed(node.named_children)
        elif node.type == "quoted_key":
            yield next(iter(tomllib.loads(f"{text} = 0"))), node
        else:
            yield text, node


def _through(lines: re.Pattern[bytes], source: bytes, place: int) -> int:
    while place < len(source) and (match := lines.match(source, place)) is not None:
        place = match.end()
    return place
