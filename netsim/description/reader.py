"""From an amplifier file to its description, or to one error that tells everything wrong with it."""

import hashlib
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from netsim.description import source
from netsim.description.inputs import Input, inputs_assumed, inputs_of_file
from netsim.description.key_path import KeyPath, folded, parse_key, printed_key
from netsim.description.limited import has_limits
from netsim.description.models.amplifier import Description
from netsim.description.quantity import FROM_FILE
from netsim.description.toml_text.parsing import parse
from netsim.description.toml_text.positions import Position, index_positions
from netsim.description.toml_text.rewriting import difference, rewrite
from netsim.description.validation_errors import breaches, leftover_rules
from netsim.errors import DescriptionError, Problem, UsageError

MOST_PROBLEMS = 50
WITHOUT_FILE = "<text>"
"""What messages call a text that no file holds; files it names are looked for in the current folder."""


@dataclass(frozen=True)
class Amplifier:
    r"""An amplifier file that keeps all rules of the format; its text, hash and values cannot diverge.

    Made by `read` and `loads`. Equal if their bytes and paths are.

    Attributes
    ----------
    raw : bytes
        The file's bytes; everything else follows from them.
    path : str
        The file as the user named it.
    description : Description
        Values in SI floats, angles in radians; of what has limits the value itself.
    inputs : tuple of Input
        What is known within limits only, written or assumed.

    Raises
    ------
    DescriptionError
        If the bytes are no text, the text is no TOML, or what it says breaks a rule.

    Examples
    --------
    >>> import netsim
    >>> amplifier = netsim.read("circuits/new-tube.toml")
    >>> changed = amplifier.replace({"bands[10 m].coil_turns": 6, "network.tune_capacitor.minimum": "8 pF"})
    >>> changed.description.bands[5].coil_turns, amplifier.description.bands[5].coil_turns
    (6.0, 5.5)
    >>> print(*amplifier.diff(changed).splitlines()[-2:], sep="\n")
    -coil_turns = 5.5
    +coil_turns = 6
    """

    raw: bytes = field(repr=False)
    path: str
    description: Description = field(init=False, repr=False, compare=False)
    _limited: tuple[Input, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        table = parse(self.text, self.path)
        object.__setattr__(self, "description", _described(table, self.text, self.path))
        object.__setattr__(self, "_limited", self._limits(table))

    def _limits(self, table: dict[str, Any]) -> tuple[Input, ...]:
        if not has_limits(self.text):
            return ()
        try:
            return tuple(inputs_of_file(table, self.description, lambda *path: self.position(*path).line))
        except DescriptionError as error:
            (problem,) = error.problems
            line, column = self.position(*parse_key(problem.key or "", self.description))
            raise DescriptionError(
                Problem(problem.code, problem.message, self.path, line, column, problem.key)
            ) from None

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """What is known within limits only: what the file says so of, then what it leaves out and is assumed."""
        assumed = inputs_assumed(self.description, lambda *path: self.position(*path).line)
        return (*self._limited, *assumed)

    @cached_property
    def text(self) -> str:
        """The text, without a byte order mark; line ends as they are in the file."""
        return source.decode(self.raw, self.path)

    @cached_property
    def sha256(self) -> str:
        """Hash of the file's bytes, in hexadecimal."""
        return hashlib.sha256(self.raw).hexdigest()

    @cached_property
    def _index(self) -> dict[KeyPath, Position]:
        return index_positions(self.text)

    def position(self, *key_path: str | int) -> Position:
        """Return where a key stands in the file.

        Parameters
        ----------
        *key_path : str or int
            Such as ``"bands", 2, "frequencies", 0``.

        Returns
        -------
        Position
            Line and column from 1; of the nearest table around it where the key was not written.
        """
        return _nearest(self._index, key_path)

    def band_index(self, name: str) -> int:
        """Return the number of a band, counted from 0; blanks and capitals in its name do not count.

        Raises
        ------
        UsageError
            ``unknown_band``.
        """
        names = [band.name for band in self.description.bands]
        found = [n for n, other in enumerate(names) if folded(other) == folded(name)]
        if not found:
            have = ", ".join(repr(other) for other in names)
            message = f"there is no band {name!r}; the file has {have}: name one of these"
            raise UsageError(Problem("unknown_band", message, self.path))
        return found[0]

    def replace(self, changes: Mapping[str, Any]) -> "Amplifier":
        """Return the amplifier with keys of its file changed; comments, order and spacing stay.

        Parameters
        ----------
        changes : mapping of str to object
            By key as results print it: ``network.tune_capacitor.minimum``, ``bands[10 m].coil_turns`` or
            ``bands[5].coil_turns``, ``network.coil.winding[0].turns``. Values as a file has them: texts with
            units, numbers, lists, dicts; None takes the key away. Tables that are missing are made.

        Returns
        -------
        Amplifier
            With a text of its own; the path stays.

        Raises
        ------
        DescriptionError
            ``bad_key``, ``unknown_name``, ``no_such_item`` or ``wrong_type`` for what cannot be written, else as
            `read` does, with lines of the new text.
        """
        paths = [(parse_key(key, self.description), value) for key, value in changes.items()]
        # Items of lists that go are counted as they stand in this file: they go last, those behind first.
        gone = [path for path, value in paths if value is None and isinstance(path[-1], int)]
        kept = [(path, value) for path, value in paths if path not in gone]
        items = [(path, None) for path in sorted(gone, key=_place, reverse=True)]
        return loads(rewrite(self.text, [*kept, *items]), self.path)

    def diff(self, other: "Amplifier") -> str:
        """Return the unified diff from this file to another, as ``patch`` reads it; empty if they are equal."""
        return difference(self.text, other.text, self.path)

    def key(self, *key_path: str | int) -> str:
        """Return the key of a path as results print it, such as ``bands[10 m].coil_turns``."""
        return printed_key(key_path, self.description)


def _place(path: KeyPath) -> list[tuple[str, int]]:
    """Return what sorts paths by where they lead, items of a list in its order."""
    return [("", step) if isinstance(step, int) else (step, 0) for step in path]


def read(path: str | os.PathLike[str]) -> Amplifier:
    """Read an amplifier file.

    Parameters
    ----------
    path : str or path-like
        A regular file of UTF-8 text.

    Returns
    -------
    Amplifier
        What it says.

    Raises
    ------
    DescriptionError
        With one problem for everything found wrong, in the order of the file.
    """
    shown = os.fspath(path)
    return Amplifier(source.load_bytes(Path(path), shown), shown)


def loads(text: str, path: str | None = None) -> Amplifier:
    """Read the text of an amplifier file, such as one that is only proposed.

    Parameters
    ----------
    text : str
        TOML.
    path : str, optional
        The file as errors are to name it; files that the text names are looked for beside it.

    Raises
    ------
    DescriptionError
        As in `read`.
    """
    shown = WITHOUT_FILE if path is None else path
    return Amplifier(source.encode(text, shown), shown)


def load_text(path: str | os.PathLike[str]) -> str:
    """Read the text of an amplifier file that need not be complete; errors of the file as in `read`."""
    shown = os.fspath(path)
    text = source.decode(source.load_bytes(Path(path), shown), shown)
    parse(text, shown)
    return text


def files_named(text: str, shown: str) -> tuple[str, ...]:
    """List the measurements that an amplifier file, complete or not, names beside itself; errors as in `loads`."""
    table = parse(text, shown)
    antenna, measured = table.get("antenna"), table.get("measured")
    named = [antenna.get(key) for key in ("measured", "filter")] if isinstance(antenna, dict) else []
    named += [r.get("file") for r in measured if isinstance(r, dict)] if isinstance(measured, list) else []
    names = [name for name in named if isinstance(name, str) and name and Path(name).name == name]
    return tuple(dict.fromkeys(names))


def _described(table: dict[str, Any], text: str, shown: str) -> Description:
    try:
        return Description.model_validate(table, context=FROM_FILE)
    except ValidationError as error:
        found = [*breaches(error), *leftover_rules(table, error)]
    index = index_positions(text)
    problems = []
    for breach in found:
        line, column = _nearest(index, breach.key)
        key = printed_key(breach.key) or None
        problems.append(Problem(breach.code, breach.message, shown, line, column, key))
    problems.sort(key=lambda problem: (problem.line, problem.column))
    if len(problems) > MOST_PROBLEMS:
        rest = len(problems) - MOST_PROBLEMS
        problems[MOST_PROBLEMS:] = [
            Problem("more_problems", f"{rest} more problems are not shown; mend these first", shown)
        ]
    raise DescriptionError(*problems)


def _nearest(index: dict[KeyPath, Position], key_path: KeyPath) -> Position:
    while key_path not in index:
        key_path = key_path[:-1]
    return index[key_path]
