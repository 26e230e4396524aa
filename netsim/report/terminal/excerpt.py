"""The line of the user's file that a problem is about, with a mark under the place."""

import os
import re
import shlex
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from netsim.errors import Problem

WIDTH = 64
_BEFORE = 24
_TOKEN = re.compile(r"\[+[^\]\n]*\]+|[A-Za-z0-9_.-]+|\"[^\"\n]*\"?|\S")
_UNPRINTABLE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_MOST_BYTES = 1_000_000


@dataclass(frozen=True)
class Excerpt:
    """One line cut to `WIDTH`, and the mark below it; both plain printable text."""

    number: int
    line: str
    mark: str


def excerpt(problem: Problem) -> Excerpt | None:
    """Fetch the line of a problem; None where there is no such line to show."""
    if problem.file is None or problem.line is None:
        return None
    try:
        with Path(problem.file).open("rb") as stream:
            text = stream.read(_MOST_BYTES).decode("utf-8-sig", "replace")
    except (OSError, ValueError):
        return None
    lines = text.replace("\r\n", "\n").split("\n")
    if problem.line > len(lines):
        return None
    return cut(lines[problem.line - 1], problem.line, problem.column)


def cut(line: str, number: int, column: int | None) -> Excerpt:
    """Take the neighbourhood of a column (from 1) out of a line of any length."""
    place = min((column or 1) - 1, len(line))
    token = _TOKEN.match(line, place) if column is not None else None
    start = max(0, place - _BEFORE) if len(line) > WIDTH else 0
    shown = line[start : start + WIDTH]
    lead, rest = ("...", "...") if start else ("", "...")
    rest = rest if start + WIDTH < len(line) else ""
    before = lead + one_line(shown[: place - start])
    length = len(token.group()) if token else 1
    under = one_line(shown[place - start : place - start + length])
    text = before + one_line(shown[place - start :]) + rest
    mark = "" if column is None else " " * _cells(before) + "^" * max(1, _cells(under))
    return Excerpt(number, text, mark)


def one_line(text: str) -> str:
    """Make any text fit for a terminal: what would move the cursor or turn the line is written out."""
    return "".join(_shown(character) for character in text)


def _shown(character: str) -> str:
    if character == "\t":
        return " "
    if unicodedata.category(character) not in _UNPRINTABLE:
        return character
    return character.encode("unicode_escape", "backslashreplace").decode("ascii")


def _cells(text: str) -> int:
    """Columns that a text takes on a terminal."""
    wide = sum(unicodedata.east_asian_width(character) in "WF" for character in text)
    combining = sum(unicodedata.combining(character) != 0 for character in text)
    return len(text) + wide - combining


def shown_name(path: str | os.PathLike[str]) -> str:
    """Make a file's name fit for a terminal; bytes that are no text are shown as such."""
    return one_line(os.fsencode(path).decode("utf-8", "backslashreplace"))


def argument(path: str) -> str:
    """Write a file's name as a shell takes it, for a command that is proposed; never as an option."""
    return shlex.quote(shown_name(path if not path.startswith("-") else f"./{path}"))
