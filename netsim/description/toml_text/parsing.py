"""From text to the table it spells, or to what keeps it from being TOML, in words that lead to the mistake."""

import re
import tomllib
from typing import Any, NoReturn

from netsim.description.file_format import headers
from netsim.errors import DescriptionError, Problem

_MOST_NAMES = 32
_NAME = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')"""
# The standard library's reader takes time with the square of the names in a dotted key.
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-])(?:{_NAME}[ \t]*+\.[ \t]*+){{{_MOST_NAMES}}}")
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_HEADER = re.compile(r"[ \t]*\[[ \t]*([A-Za-z0-9_.\t -]+?)[ \t]*\]")
_CURLY = "\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f\u00ab\u00bb\u2039\u203a"
_STRAIGHT = re.compile(r"\"[^\"]*\"|'[^']*'|#.*")
_BARE_NUMBER = re.compile(r"=[ \t]*[+-]?(?:\.[0-9]|[0-9]+\.[ \t]*(?:#|$)|0[0-9])")
_QUANTITY = re.compile(
    r"=[ \t]*([+-]?[0-9][0-9.,eE+-]*[ \t]*[A-Za-z%\u00b5\u03bc\u03a9\u2126\u00b0][\w/%]*)[ \t]*(?:#.*)?$"
)
_WORD = re.compile(r"=[ \t]*([A-Za-z][\w-]*(?:[ \t]+[\w-]+)*)[ \t]*(?:#.*)?$")
_HINT = "quantities are texts in double quotes, tables are [in.brackets]"


def parse(text: str, shown: str) -> dict[str, Any]:
    """Read TOML.

    Parameters
    ----------
    text : str
        Of a file.
    shown : str
        The file as errors are to name it.

    Raises
    ------
    DescriptionError
        ``toml_syntax``, ``duplicate_key`` or ``too_deeply_nested``, with line and column.
    """
    long_key = _LONG_KEY.search(text)
    if long_key is not None:
        line = text.count("\n", 0, long_key.start()) + 1
        message = f"a key of more than {_MOST_NAMES} names; no table is that deep"
        _fail("too_deeply_nested", message, shown, line)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _refuse(str(error), text, shown)
    except RecursionError:
        _fail("too_deeply_nested", "arrays or tables are nested too deeply; none is deeper than three", shown)
    except ValueError:  # integers of thousands of digits, impossible dates
        _fail("toml_syntax", "a number has too many digits or a date does not exist", shown)


def _refuse(message: str, text: str, shown: str) -> NoReturn:
    """Turn the reader's complaint into a problem with a position."""
    place = _PLACE.search(message)
    reason = message[: place.start()] if place else message
    lines = text.replace("\r\n", "\n").split("\n")
    if place and place[1]:
        line, column = int(place[1]), int(place[2])
    else:
        line, column = _unclosed(lines) or (len(lines), len(lines[-1]) + 1)
    if reason.startswith(("Cannot overwrite", "Cannot declare", "Duplicate")):
        _fail("duplicate_key", _duplicate(reason, lines[line - 1]), shown, line, column)
    found = _diagnosis(reason, lines[line - 1], column)
    reason = found or f"{reason}; {_HINT}"
    _fail("toml_syntax", f"this is not valid TOML: {reason}", shown, line, column)


def _duplicate(reason: str, line: str) -> str:
    header = _HEADER.match(line)
    name = re.sub(r"[ \t]*\.[ \t]*", ".", header[1]) if header else ""
    if headers().get(name, "").startswith("[["):
        return f"[{name}] opens one table; there can be several of these, each with double brackets: write [[{name}]]"
    return f"a key or table that is already there is written again ({reason}); keep one of them"


def _diagnosis(reason: str, line: str, column: int) -> str | None:
    """Name the mistake behind the reader's complaint; None if it is none of the usual ones."""
    rest = line[column - 1 :].lstrip()
    curly = next((c for c in _STRAIGHT.sub("", line) if c in _CURLY), None)
    if curly is not None:
        return f'the quote {curly} (U+{ord(curly):04X}) is a typeset one; write straight quotes, "like this"'
    if rest.startswith((";", "//")):
        return f"a comment begins with #; found {rest[0] if rest[0] == ';' else '//'}"
    for applies in (_text_mistake, _value_mistake, _key_mistake):
        found = applies(reason, line, rest)
        if found is not None:
            return found
    return None


def _text_mistake(reason: str, line: str, rest: str) -> str | None:
    if reason.startswith("Unterminated string") or "'''" in reason:
        return "the three quotes that close a text are missing"
    if reason.startswith(("Illegal character '\\n'", 'Expected "\'"')):
        quote = '"' if reason.startswith("Illegal") else "'"
        return f"the closing quote of a text is missing on this line; end it with {quote}"
    if "escape" in reason:
        return "a backslash in a text in double quotes begins an escape; write two of them, or single quotes around it"
    return None


def _value_mistake(reason: str, line: str, rest: str) -> str | None:
    quantity, word = _QUANTITY.search(line), _WORD.search(line)
    if quantity is not None:
        return f'a quantity is a text in double quotes; write "{quantity[1].strip()}"'
    if re.search(r"=[ \t]*[+-]?[0-9]+,[0-9]+[ \t]*(?:#.*)?$", line):
        return "decimals have a point, not a comma"
    if _BARE_NUMBER.search(line):
        return "a number has digits on both sides of its point, and no 0 before others"
    if reason == "Invalid value" and word is not None:
        written = word[1].strip()
        meant = written.lower() if written.lower() in ("true", "false", "inf", "nan") else f'"{written}"'
        return f"a text stands in double quotes, true and false in small letters without; write {meant}"
    if reason == "Invalid value":
        return 'a value is missing or begins with a sign that none can; write key = "text", key = 3 or key = [1, 2]'
    if reason.startswith("Unclosed array"):
        return "a comma between two entries, or the closing ], is missing"
    if reason.startswith("Unclosed inline table"):
        return "a comma between two entries, or the closing }, is missing"
    if reason.startswith("Invalid initial character") and "{" in line:
        return "a table in braces stands on one line; close it there, or write a [header] and its keys below"
    return None


def _key_mistake(reason: str, line: str, rest: str) -> str | None:
    if reason.startswith("Expected '='"):
        return "a key is one word and followed by =; write key = value" + (
            " with =, not :" if rest.startswith(":") else ""
        )
    if reason.startswith("Expected newline"):
        return f"something follows the value: {rest[:20]!r}; one key stands on a line, a text in one pair of quotes"
    if reason.startswith("Expected ']"):
        return "the closing bracket of a header is missing; write [network.coil], or [[bands]] where there are several"
    return None


def _unclosed(lines: list[str]) -> tuple[int, int] | None:
    """Find the line on which a text in single quotes is opened and not closed."""
    for number, line in enumerate(lines, start=1):
        place = line.find("= '")
        if place >= 0 and "'" not in line[place + 3 :]:
            return number, place + 3
    return None


def _fail(code: str, message: str, file: str, line: int | None = None, column: int | None = None) -> NoReturn:
    raise DescriptionError(Problem(code, message, file, line, column)) from None
