"""What every code of a finding, an error or a note means, and what can be done, at length."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

DATA = "code_reference.json"


@dataclass(frozen=True)
class CodeEntry:
    """One code: what kind it is, what it is about, why it matters, what to do, best first.

    Of a finding also the rule that makes its used fraction, and where that rule comes from.
    """

    kind: Literal["finding", "error", "note"]
    heading: str
    meaning: tuple[str, ...]
    remedies: tuple[str, ...]
    rule: str = ""
    source: str = ""


@cache
def code_reference() -> Mapping[str, CodeEntry]:
    """Return every code with its entry, findings first, in the order of their file."""
    text = files("netsim.report").joinpath(DATA).read_text(encoding="utf-8")
    tables: dict[str, dict[str, Any]] = json.loads(text)
    for entry in tables.values():
        entry |= {key: tuple(entry[key]) for key in ("meaning", "remedies")}
    return {code: CodeEntry(**entry) for code, entry in tables.items()}
