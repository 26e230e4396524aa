"""Where each key of a TOML text stands."""

from typing import TYPE_CHECKING, NamedTuple

from netsim.description.key_path import KeyPath
from netsim.description.toml_text.syntax import Steps, Syntax, entries, pairs_of

if TYPE_CHECKING:
    from tree_sitter import Node


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
    source = text.encode("utf-8", "replace")
    lines = source.split(b"\n")
    index: dict[KeyPath, Position] = {(): Position(1, 1)}

    def place(node: "Node") -> Position:
        row, column = node.start_point
        return Position(row + 1, len(lines[row][:column].decode("utf-8", "replace")) + 1)

    def enter(steps: Steps) -> None:
        for path, key in steps:
            index.setdefault(path, place(key))

    for section in Syntax(source).sections:
        enter(section.steps)
        if section.is_item and section.node is not None:
            index[section.path] = place(section.node)
        # A stack of our own, because values may be nested deeper than Python calls can be.
        pending = list(reversed(section.pairs))
        while pending:
            pair = pending.pop()
            enter(pair.steps)
            values = [(pair.path, pair.value)]
            while values:
                path, value = values.pop()
                pending += pairs_of(path, value)
                if value.type == "array":
                    for number, item in enumerate(entries(value)):
                        index[(*path, number)] = place(item)
                        values.append(((*path, number), item))
    return index
