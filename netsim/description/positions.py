"""Where each key of a TOML text stands.

The standard library's reader gives values without positions; tree-sitter gives the syntax tree. Made for
text that the former has accepted: on anything else keys may be missing from the index.
"""

import tomllib
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from tree_sitter import Node

KeyPath = tuple[str | int, ...]


class Position(NamedTuple):
    """A place in a text, line and column counted from 1, columns in characters."""

    line: int
    column: int


def index_positions(text: str) -> dict[KeyPath, Position]:
    """Map each key path to the place of its key, and each array item to the place of the item.

    Parameters
    ----------
    text : str
        TOML, with line ends of either kind.

    Returns
    -------
    dict
        Paths such as ``("bands", 2, "frequencies", 0)``. An item of an array of tables stands at its
        header; a table that is only named in longer paths stands where it is first named. ``()`` is 1:1.
    """
    return _Indexer(text).index


class _Indexer:
    """One walk over the syntax tree of one text."""

    def __init__(self, text: str) -> None:
        import tree_sitter_toml
        from tree_sitter import Language, Parser

        source = text.replace("\r\n", "\n").encode("utf-8", "replace")
        self._lines = source.split(b"\n")
        self._newest: dict[KeyPath, int] = {}
        self.index: dict[KeyPath, Position] = {(): Position(1, 1)}
        tree = Parser(Language(tree_sitter_toml.language())).parse(source)
        # A stack of our own, because values may be nested deeper than Python calls can be.
        self._pending: list[tuple[KeyPath, Node]] = []
        for node in tree.root_node.named_children:
            base = self._header(node) if node.type in ("table", "table_array_element") else ()
            pairs = [node] if node.type == "pair" else node.named_children
            self._pending += [(base, pair) for pair in pairs if pair.type == "pair"]
        self._pending.reverse()
        while self._pending:
            self._pair(*self._pending.pop())

    def _header(self, node: "Node") -> KeyPath:
        """Enter a table header and give the path of its table, the newest item of an array of tables."""
        path: KeyPath = ()
        steps = list(_steps(node.named_children[0]))
        for number, (name, key) in enumerate(steps, start=1):
            path = (*path, name)
            self.index.setdefault(path, self._place(key))
            if number == len(steps) and node.type == "table_array_element":
                self._newest[path] = self._newest.get(path, -1) + 1
                self.index[(*path, self._newest[path])] = self._place(node)
            if path in self._newest:
                path = (*path, self._newest[path])
        return path

    def _pair(self, base: KeyPath, pair: "Node") -> None:
        """Enter ``key = value``, then whatever the value holds."""
        key_node, value = pair.named_children[0], pair.named_children[-1]
        path = base
        for name, key in _steps(key_node):
            path = (*path, name)
            self.index.setdefault(path, self._place(key))
        values = [(path, value)]
        while values:
            path, value = values.pop()
            if value.type == "inline_table":
                self._pending += [(path, child) for child in value.named_children if child.type == "pair"]
            elif value.type == "array":
                items = [child for child in value.named_children if child.type != "comment"]
                for number, item in enumerate(items):
                    self.index[(*path, number)] = self._place(item)
                    values.append(((*path, number), item))

    def _place(self, node: "Node") -> Position:
        row, column = node.start_point
        return Position(row + 1, len(self._lines[row][:column].decode("utf-8", "replace")) + 1)


def _steps(node: "Node") -> Iterator[tuple[str, "Node"]]:
    """Take a key apart into its names, outermost first, each with its place in the tree."""
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
