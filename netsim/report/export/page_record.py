"""What a page was made from, inside the page itself, and what has moved since."""

import json
import re
from collections.abc import Iterator
from dataclasses import asdict, astuple, dataclass, fields, replace

from netsim.errors import Problem, UsageError
from netsim.report.export.json_text import in_script
from netsim.verdict.result import Finding, Verdict

ELEMENT = "made-from"
"""The id of the script element that holds the record."""

_FOUND = re.compile(rf'<script type="application/json" id="{ELEMENT}">(.*?)</script>', re.DOTALL)
_NOTICEABLE = 5e-4
"""Change of a used fraction from which on it counts: less no page shows."""


@dataclass(frozen=True)
class Noted:
    """One finding as a page notes it."""

    code: str
    part: str
    quantity: str
    case: str
    band: str | None
    operating_point: str | None
    state: str
    used_fraction: float | None

    @property
    def identity(self) -> tuple[str | None, ...]:
        """What tells it from all others of its amplifier."""
        return astuple(self)[:-2]  # all but state and used fraction


@dataclass(frozen=True)
class Record:
    """What a page was made from: name of the file, worst SWR asked for instead of the file's, findings in order.

    Versions are of everything that took part, empty for what did not run; the file's SHA-256 is among them.
    """

    file: str
    swr: float | None
    versions: dict[str, str]
    findings: tuple[Noted, ...]


@dataclass(frozen=True)
class Moved:
    """One finding that is not what it was; None where it is not there."""

    before: Noted | None
    after: Noted | None


def record_of(verdict: Verdict, file: str, swr: float | None) -> Record:
    """Return the record of a result."""
    versions = {key: value or "" for key, value in asdict(verdict.provenance).items()}
    return Record(file, swr, versions, tuple(_noted(finding) for finding in verdict.findings))


def dump(record: Record) -> str:
    """Write a record as JSON that can stand in a script element."""
    tables = {**asdict(record), "findings": [list(asdict(noted).values()) for noted in record.findings]}
    return in_script(json.dumps(tables, allow_nan=False, separators=(",", ":")))


def load(page: str, name: str) -> Record:
    """Read the record out of a page; the error names its file.

    Raises
    ------
    UsageError
        ``page_record_missing``, if there is none that can be read.
    """
    found = _FOUND.search(page)
    try:
        tables = json.loads(found[1]) if found else None
        findings = tuple(Noted(*entry) for entry in tables["findings"]) if tables else ()
        if tables:
            return Record(tables["file"], tables["swr"], dict(tables["versions"]), findings)
    except (ValueError, TypeError, KeyError):
        pass
    raise UsageError(
        Problem(
            "page_record_missing",
            "this page does not tell what it was made from: it is no report of netsim, or was changed, or is older "
            "than such records; write it again with netsim report FILE",
            name,
        )
    )


def moved(before: Record, after: Record) -> Iterator[Moved]:
    """Yield the findings that are not what they were: state, used fraction, gone or new, worst first."""
    old, new = ({noted.identity: noted for noted in record.findings} for record in (before, after))
    for key in {**new, **old}:
        pair = Moved(old.get(key), new.get(key))
        if pair.before is None or pair.after is None or _differ(pair.before, pair.after):
            yield pair


def moved_versions(before: Record, after: Record) -> dict[str, tuple[str, str]]:
    """Return what took part then and now, where that differs."""
    keys = {**before.versions, **after.versions}
    pairs = {key: (before.versions.get(key, ""), after.versions.get(key, "")) for key in keys}
    return {key: pair for key, pair in pairs.items() if pair[0] != pair[1]}


def _noted(finding: Finding) -> Noted:
    noted = Noted(*(getattr(finding, field.name) for field in fields(Noted)))
    used = noted.used_fraction
    return noted if used is None else replace(noted, used_fraction=round(used, 6))


def _differ(one: Noted, other: Noted) -> bool:
    if one.state != other.state or (one.used_fraction is None) != (other.used_fraction is None):
        return True
    if one.used_fraction is None or other.used_fraction is None:
        return False
    return abs(one.used_fraction - other.used_fraction) > _NOTICEABLE * max(1.0, one.used_fraction)
