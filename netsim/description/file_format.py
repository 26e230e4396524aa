"""The format, looked up by key path: what type a value has, and which tables hold a key."""

import types
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from netsim.description.key_path import KeyPath
from netsim.description.models.amplifier import Description
from netsim.description.quantity import Measure, OneOrEach


def annotation(key: KeyPath) -> Any:
    """Return the type of the value at a key path of the format; numbers of items count for nothing.

    Returns
    -------
    type
        A model, an ``Annotated`` type with its measure, or a tuple of such; without ``| None``.

    Raises
    ------
    KeyError, IndexError, AttributeError
        If the format has no such key.
    """
    current: Any = Description
    for step in key:
        if isinstance(step, int) and get_origin(current) is Annotated:
            continue  # one of an array of the same
        if isinstance(step, int):
            items = [item for item in get_args(current) if item is not Ellipsis]
            current = bare(items[min(step, len(items) - 1)])
        else:
            field = current.model_fields[step]
            current = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
            current = bare(current)
    return current


def measure(key: KeyPath) -> Measure | None:
    """Return how the quantity at a key path is written; None if there is no such key, or no quantity."""
    try:
        found = annotation(key)
    except (KeyError, IndexError, AttributeError):
        return None
    kinds = found.__metadata__ if get_origin(found) is Annotated else ()
    for kind in kinds:
        if isinstance(kind, Measure | OneOrEach):
            return kind if isinstance(kind, Measure) else kind.measure
    return None


def tables() -> Iterator[tuple[KeyPath, type[BaseModel]]]:
    """Go through the tables of the format, outer ones first.

    Yields
    ------
    path, model : tuple of str or int, type
        An array's table is its item 0, such as ``("network", "coil", "winding", 0)``; the top is ``()``.
    """
    pending: list[tuple[KeyPath, type[BaseModel]]] = [((), Description)]
    while pending:
        path, model = pending.pop(0)
        yield path, model
        for name, field in model.model_fields.items():
            inner = bare(field.annotation)
            is_tuple = get_origin(inner) is tuple
            inner = bare(get_args(inner)[0]) if is_tuple else inner
            if is_model(inner):
                pending.append(((*path, name, 0) if is_tuple else (*path, name), inner))


@cache
def headers() -> dict[str, str]:
    """Return the header of each table by its path without numbers, such as ``[[bands]]`` by ``bands``."""
    found = {}
    for path, _ in tables():
        name = without_numbers(path)
        found[name] = f"[[{name}]]" if path[-1:] == (0,) else f"[{name}]"
    found.pop("")
    return found


def without_numbers(path: KeyPath) -> str:
    """Return a path as it stands in a header, such as ``network.coil.winding``; empty of the top."""
    return ".".join(step for step in path if isinstance(step, str))


@cache
def homes() -> dict[str, list[str]]:
    """Return the headers of the tables in which each key may stand."""
    found: dict[str, list[str]] = {}
    for path, model in tables():
        header = headers().get(without_numbers(path), "the top of the file")
        for name in model.model_fields:
            found.setdefault(name, []).append(header)
    return found


def example(kind: Any, *, every_choice: bool = False) -> str:
    """Write how a value of a type stands in a file; of a few choices the first, or all of them."""
    if get_origin(kind) is Literal:
        return " | ".join(f'"{choice}"' for choice in get_args(kind)[: None if every_choice else 1])
    if get_origin(kind) is Annotated:
        rule = kind.__metadata__[0]
        if kind.__origin__ is bool:
            return "true"
        return str(rule.as_toml) if hasattr(rule, "as_toml") else '"40 m"'
    items = [item for item in get_args(kind) if item is not Ellipsis and type(None) not in get_args(item)]
    return f"[{', '.join(example(bare(item)) for item in items)}]"


def bare(annotation: Any) -> Any:
    """Take off ``| None``, and limits of length around a tuple."""
    if get_origin(annotation) is Annotated and get_origin(annotation.__origin__) is tuple:
        annotation = annotation.__origin__
    if get_origin(annotation) in (Union, types.UnionType):
        annotation = next(arm for arm in get_args(annotation) if arm is not type(None))
    return annotation


def is_model(annotation: Any) -> bool:
    """Tell whether a type is a table."""
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)
