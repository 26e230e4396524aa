"""The result as JSON: one object, SI floats, null for what does not exist."""

import dataclasses
import json
from collections.abc import Iterable
from typing import Any

from netsim.errors import Problem
from netsim.verdict.result import SCHEMA_VERSION, Verdict


def dump(verdict: Verdict) -> str:
    """Write a result for programs: one line of ASCII, which ``result.schema.json`` beside this module describes.

    Raises
    ------
    ValueError
        If a number is NaN or infinite, which JSON cannot say.
    """
    return document(as_tables(verdict))


def dump_problems(problems: Iterable[Problem]) -> str:
    """Write what kept a result from being made, with the same schema version."""
    return document({"errors": [dataclasses.asdict(p) for p in problems]})


def in_script(text: str) -> str:
    """Make JSON fit to stand in a script element."""
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def as_tables(verdict: Verdict) -> dict[str, Any]:
    """Give the result as nested dicts and lists, key by key as in its dataclasses."""
    tables: dict[str, Any] = plain(verdict)
    if not verdict.operating_points:
        del tables["operating_points"]
    return tables


def plain(value: object) -> Any:
    """Unfold dataclasses; a third of the time of ``dataclasses.asdict``, which copies every leaf."""
    if isinstance(value, float | int | str | None):
        return value
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    return {key: plain(item) for key, item in vars(value).items()}


def document(tables: dict[str, Any]) -> str:
    """Write tables as one line, the schema's version before them."""
    return json.dumps({"schema_version": SCHEMA_VERSION, **tables}, allow_nan=False) + "\n"
