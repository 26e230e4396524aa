"""Values as TOML: text, numbers, lists and tables, on one line or as tables with headers."""

import re
from collections.abc import Mapping
from numbers import Integral, Real
from typing import Any, NoReturn

from netsim.description.key_path import KeyPath, printed_key
from netsim.errors import DescriptionError, Problem

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}
_ESCAPED = re.compile('["\\\\\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]')


def plain(value: Any, path: KeyPath = ()) -> Any:
    """Return a value as the reader would give it back: str, bool, int, float, list or dict.

    Parameters
    ----------
    value : object
        Of these types, or one of numpy's numbers, a tuple or another mapping.
    path : tuple, optional
        Where it is to stand, for the error.

    Raises
    ------
    DescriptionError
        ``wrong_type`` if no file can hold it.
    """
    if isinstance(value, Mapping):
        return {str(key): plain(item, (*path, str(key))) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item, path) for item in value]
    if isinstance(value, str):
        if any("\ud800" <= c <= "\udfff" for c in value):
            _refuse(path, "the text holds half of a surrogate pair, which no file can")
        return str(value)
    if isinstance(value, bool):
        return value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return float(value)
    return _refuse(
        path, f"a {type(value).__name__} cannot stand in a file; give a text, number, list or dict"
    )


def render(value: Any) -> str:
    """Return a `plain` value as TOML on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{_ESCAPED.sub(_escape, value)}"'
    if isinstance(value, list):
        return f"[{', '.join(map(render, value))}]"
    if isinstance(value, dict):
        pairs = ", ".join(f"{render_name(key)} = {render(item)}" for key, item in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    return repr(value)


def render_name(key: str) -> str:
    """Return a name as it stands in a key, in quotes where it needs them."""
    return key if _BARE.fullmatch(key) else render(key)


def render_key(path: KeyPath) -> str:
    """Return a path as a dotted key or header; numbers of items are not written there."""
    return ".".join(render_name(step) for step in path if isinstance(step, str))


def wants_header(value: Any) -> bool:
    """Tell whether a value reads best under headers: a table, or a list of nothing but tables."""
    if isinstance(value, list):
        return bool(value) and all(isinstance(item, dict) for item in value)
    return isinstance(value, dict)


def header_lines(path: KeyPath, value: Any) -> list[str]:
    """Return a table, or a list of tables, as lines with headers, plain keys first."""
    if isinstance(value, list):
        blocks = [header_lines(path, item) for item in value]
        return [
            line
            for number, (header, *rest) in enumerate(blocks)
            for line in [*[""] * bool(number), f"[{header}]", *rest]
        ]
    lines = [f"[{render_key(path)}]"]
    lines += [f"{render_name(k)} = {render(v)}" for k, v in value.items() if not wants_header(v)]
    for key, inner in value.items():
        if wants_header(inner):
            lines += ["", *header_lines((*path, key), inner)]
    return lines


def leaves(path: KeyPath, value: Any) -> list[tuple[KeyPath, Any]]:
    """Take a table apart into the paths of what is no table; an empty one is its own leaf."""
    if not isinstance(value, dict) or not value:
        return [(path, value)]
    return [leaf for key, inner in value.items() for leaf in leaves((*path, key), inner)]


def same(one: Any, other: Any) -> bool:
    """Tell whether two values of a file are the same: 1, 1.0 and true differ, two nan do not."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and bool(one == other or (one != one and other != other))


def _escape(match: re.Match[str]) -> str:
    return _ESCAPES.get(match[0]) or f"\\u{ord(match[0]):04X}"


def _refuse(path: KeyPath, message: str) -> NoReturn:
    raise DescriptionError(Problem("wrong_type", message, key=printed_key(path)))
