"""From an amplifier file to its description, or to one error that tells everything wrong with it."""

import hashlib
import os
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from netsim.description import source
from netsim.description.models.amplifier import Description
from netsim.description.models.operating_point import OperatingPoint
from netsim.description.positions import KeyPath, Position, index_positions
from netsim.description.quantity import FROM_FILE
from netsim.description.validation_errors import complaints, leftover_rules
from netsim.errors import DescriptionError, Problem

MOST_PROBLEMS = 50


@dataclass(frozen=True)
class Amplifier:
    """An amplifier file that keeps all rules of the format.

    Attributes
    ----------
    description : Description
        Values in SI floats, angles in radians.
    path : str
        The file as the user named it.
    text : str
        Its text, without a byte order mark.
    sha256 : str
        Of its bytes, in hexadecimal.
    """

    description: Description
    path: str
    text: str
    sha256: str

    @cached_property
    def _index(self) -> dict[KeyPath, Position]:
        return index_positions(self.text)

    def position(self, *key_path: str | int) -> Position:
        """Find a key in the text.

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

    def at(self, point: OperatingPoint) -> "Amplifier":
        """Give the same file with the stage as it runs at one of its operating points."""
        stage = point.of(self.description.stage)
        return replace(self, description=self.description.model_copy(update={"stage": stage}))


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
    raw = source.load_bytes(Path(path), shown)
    return interpret(source.decode(raw, shown), shown, hashlib.sha256(raw).hexdigest())


def load_text(path: str | os.PathLike[str]) -> str:
    """Read the text of an amplifier file that need not be complete; errors of the file as in `read`."""
    shown = os.fspath(path)
    text = source.decode(source.load_bytes(Path(path), shown), shown)
    source.parse(text, shown)
    return text


def interpret(text: str, shown: str, sha256: str | None = None) -> Amplifier:
    """Read the text of an amplifier file, such as one that is only proposed.

    Parameters
    ----------
    text : str
        TOML.
    shown : str
        The file as errors are to name it.
    sha256 : str, optional
        Of the file's bytes; by default of the text as UTF-8.

    Raises
    ------
    DescriptionError
        As in `read`.
    """
    description = _validate(source.parse(text, shown), text, shown)
    return Amplifier(description, shown, text, sha256 or hashlib.sha256(text.encode()).hexdigest())


def _validate(table: dict[str, Any], text: str, shown: str) -> Description:
    try:
        return Description.model_validate(table, context=FROM_FILE)
    except ValidationError as error:
        found = [*complaints(error), *leftover_rules(table, error)]
    index = index_positions(text)
    problems = []
    for complaint in found:
        line, column = _nearest(index, complaint.key)
        problems.append(
            Problem(complaint.code, complaint.message, shown, line, column, _written(complaint.key) or None)
        )
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


def _written(key_path: KeyPath) -> str:
    """Write a key path as ``bands[2].frequencies[0]``."""
    text = ""
    for step in key_path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text if len(text) <= 200 else f"{text[:200]}..."
