"""Keys as they are printed, such as ``bands[10 m].coil_turns``, and the paths they stand for.

Items of an array are named by what their ``name`` says where they have one, else counted from 0. A name
stands in the brackets as it is; one of digits alone, or with brackets, quotes, a backslash or blanks at
its ends, stands in double quotes with the escapes of JSON, which are TOML's too: ``bands["160"]``,
``bands["a]b"]``. Brackets with digits alone always count.
"""

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any, NoReturn

from netsim.errors import DescriptionError, Problem

KeyPath = tuple[str | int, ...]

_MOST_CHARACTERS = 200
_PLAIN_NAME = re.compile(r"""(?!\d+\Z)(?=\S)[^\[\]"'\\\x00-\x1f\x7f]*(?<=\S)""")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STEP = re.compile(
    r"""\.(?P<bare>[A-Za-z0-9_-]+)|\[(?:(?P<index>\d{1,9})|(?P<quoted>"(?:[^"\\]|\\.)*")|(?P<name>[^\[\]"]+))\]"""
)


def folded(name: str) -> str:
    """Return a name as it counts when names are compared: ``160 m``, ``160m`` and ``160 M`` are one."""
    return "".join(name.split()).casefold()


def printed_key(path: KeyPath, table: Any = None) -> str:
    """Return the key that stands for a path, for results and messages.

    Parameters
    ----------
    path : tuple of str or int
        Such as ``("bands", 2, "coil_turns")``.
    table : Description or mapping, optional
        What the path leads through; items are named only where it is given.

    Returns
    -------
    str
        Such as ``bands[10 m].coil_turns``, or ``bands[2].coil_turns`` without a table.
    """
    text = ""
    here = table
    for step in path:
        here = _inner(here, step)
        if isinstance(step, int):
            name = _inner(here, "name")
            text += f"[{_selector(name) if isinstance(name, str) else step}]"
        else:
            bare = step if _BARE.fullmatch(step) else json.dumps(step, ensure_ascii=False)
            text += f".{bare}" if text else bare
    return text if len(text) <= _MOST_CHARACTERS else f"{text[:_MOST_CHARACTERS]}..."


def parse_key(key: str, table: Any) -> KeyPath:
    """Return the path that a printed key stands for.

    Parameters
    ----------
    key : str
        As `printed_key` gives it.
    table : Description or mapping
        Where the names in brackets are looked up.

    Returns
    -------
    tuple of str or int
        It need not lead to anything yet.

    Raises
    ------
    DescriptionError
        ``bad_key`` if it is no key, ``unknown_name`` if no item has the name.
    """
    path: list[str | int] = []
    here, place, text = table, 0, f".{key}"
    while place < len(text):
        match = _STEP.match(text, place)
        if match is None or (match["bare"] is None and not path):
            _fail(
                "bad_key", f"{key[:_MOST_CHARACTERS]!r} is no key; write it like bands[10 m].coil_turns", key
            )
        place = match.end()
        step: str | int
        if match["bare"] is not None:
            step = match["bare"]
        elif match["index"] is not None:
            step = int(match["index"])
        else:
            step = _item(here, match["name"] or _unquoted(match["quoted"], key), key)
        path.append(step)
        here = _inner(here, step)
    return tuple(path)


def _selector(name: str) -> str:
    return name if _PLAIN_NAME.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def _unquoted(text: str, key: str) -> str:
    try:
        return str(json.loads(text, strict=False))
    except ValueError:
        return _fail("bad_key", f"{text[:_MOST_CHARACTERS]} is no text in double quotes", key)


def _item(array: Any, wanted: str, key: str) -> int:
    """Find an item by its name, spelt the same or else the same but for blanks and capitals."""
    items = array if isinstance(array, Sequence) and not isinstance(array, str) else ()
    names = [_inner(item, "name") for item in items]
    exact = [n for n, name in enumerate(names) if name == wanted]
    alike = [n for n, name in enumerate(names) if isinstance(name, str) and folded(name) == folded(wanted)]
    if exact or alike:
        return (exact or alike)[0]
    have = ", ".join(_selector(name) for name in names if isinstance(name, str))
    remedy = f"the names are {have}" if have else "count the items from 0, such as [0]"
    return _fail("unknown_name", f"nothing here is named {wanted!r}; {remedy}", key)


def _inner(here: Any, step: str | int) -> Any:
    """Return what stands at a step of a model, mapping or sequence; None where there is nothing."""
    if isinstance(step, int):
        inside = isinstance(here, Sequence) and not isinstance(here, str) and step < len(here)
        return here[step] if inside else None
    return here.get(step) if isinstance(here, Mapping) else getattr(here, step, None)


def _fail(code: str, message: str, key: str) -> NoReturn:
    raise DescriptionError(Problem(code, message, key=key[:_MOST_CHARACTERS]))
