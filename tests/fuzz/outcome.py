"""What a command left behind, and everything about it that must not be."""

import io
import json
import math
import os
import re
import resource
import warnings
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from netsim.cli import application

from .cases import MADE, PAGE, Case

MOST_BYTES = 700_000_000
_PERMITTED = {"check": {0, 1, 2, 3}, "fit": {0, 1, 2, 3}}
_NO_NUMBER = re.compile(r"(?<![\w.-])-?(?:nan|inf|infinity)(?![\w-])", re.IGNORECASE)
_RATINGS = {
    "voltage_rating": "part_voltage",
    "current_rating": "part_current",
    "power_rating": "part_power",
    "reactive_power_rating": "part_reactive_power",
}
_JUDGED = {
    *_RATINGS.values(),
    "part_unloaded_voltage",
    "plate_dissipation",
    "loaded_q",
    "tuning_range",
    "plate_match",
}
_ROUNDING = 1e-6
_FOR_EVERY_BAND = ("loaded_q", "harmonic_level", "plate_match", "tuning_range")


@dataclass(frozen=True)
class Outcome:
    """Of one command.

    Attributes
    ----------
    status : int
    out, err : str
    warned : tuple of str
        Warnings of Python, which a user would see on stderr.
    grown : int
        How far the peak of memory lay above what the process held before [byte].
    made, page : str or None
        What it wrote.
    """

    status: int
    out: str
    err: str
    warned: tuple[str, ...]
    grown: int
    made: str | None
    page: str | None


def put_down(case: Case, folder: Path) -> None:
    """Write the files of a case into an empty folder."""
    for name, content in case.files.items():
        (folder / name).write_bytes(content)


def run(case: Case, folder: Path) -> Outcome:
    """Run a case in this process, in a folder that holds its files."""
    here = Path.cwd()
    put_down(case, folder)
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="")
    err = io.StringIO()
    os.chdir(folder)
    before = _memory(peak=False)
    try:
        with warnings.catch_warnings(record=True) as caught, redirect_stdout(out), redirect_stderr(err):
            warnings.simplefilter("always")
            status = application.run(list(case.arguments))
    finally:
        os.chdir(here)
    out.flush()
    text = out.buffer.getvalue().decode("utf-8")  # type: ignore[attr-defined]
    grown = _memory(peak=True) - before
    written = (
        (folder / name).read_text(encoding="utf-8") if (folder / name).exists() else None
        for name in (MADE, PAGE)
    )
    return Outcome(status, text, err.getvalue(), tuple(str(w.message) for w in caught), grown, *written)


def _memory(*, peak: bool) -> int:
    """Return what this process holds, or its peak since last asked for that [byte]; where the system tells."""
    status = Path("/proc/self/status")
    if not status.exists():
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    found = dict(line.split(":", 1) for line in status.read_text().splitlines())
    if not peak:
        Path("/proc/self/clear_refs").write_text("5")  # sets the peak back
    return int(found["VmHWM" if peak else "VmRSS"].split()[0]) * 1024


def faults(case: Case, outcome: Outcome) -> list[str]:
    """Return what is wrong with an outcome, whatever its files say; nothing if all is well."""
    judges = (_faults_of_ending, _faults_of_process, _faults_of_print, _faults_of_files)
    found = [fault for judge in judges for fault in judge(case, outcome)]
    if "--json" in case.arguments:
        found += _faults_of_json(case, outcome)
    return found


def _faults_of_ending(case: Case, outcome: Outcome) -> Iterator[str]:
    if outcome.status not in _PERMITTED.get(case.command, {0, 2, 3}):
        yield f"exit status {outcome.status}: {outcome.err[-300:]}"
    told = re.search(r"^(Next|\d+ mistakes?|Usage|Try|Error)", outcome.err, re.MULTILINE)
    if outcome.status >= 2 and not told:
        yield f"status {outcome.status} says nothing: {outcome.err[-200:]}"


def _faults_of_process(case: Case, outcome: Outcome) -> Iterator[str]:
    if "Traceback" in outcome.err or re.search(r"\w+Warning\b", outcome.err):
        yield f"stderr: {outcome.err[-300:]}"
    if outcome.warned:
        yield f"warned: {outcome.warned[0][:200]}"
    if outcome.grown > MOST_BYTES:
        yield f"took {outcome.grown / 1e6:.0f} MB"
    if "out_of_memory" in outcome.err:
        yield "out of memory"


def _faults_of_print(case: Case, outcome: Outcome) -> Iterator[str]:
    if "--json" in case.arguments or outcome.status >= 2 or case.command == "export":
        return
    # Of a diff the file's own lines are no numbers of ours.
    lines = [line for line in outcome.out.splitlines() if not line.startswith((" ", "+", "-", "@"))]
    for line in lines:
        if _NO_NUMBER.search(line):
            yield f"not a number in print: {line!r}"


def _faults_of_files(case: Case, outcome: Outcome) -> Iterator[str]:
    wrote = bool(outcome.made or outcome.page)
    if case.command in ("design", "report") and (outcome.status == 0) != wrote:
        yield f"status {outcome.status}, and a file was {'' if wrote else 'not '}written"
    if outcome.made is not None and outcome.status == 0:
        yield from _faults_of_made(outcome.made)
    if outcome.page is not None:
        for number in re.findall(r'(?:>|=")-?(?:nan|inf)\b', outcome.page, re.IGNORECASE):
            yield f"not a number on the page: {number!r}"


def _faults_of_made(text: str) -> Iterator[str]:
    from netsim.description.reader import loads
    from netsim.errors import DescriptionError

    try:
        loads(text, "made.toml")
    except DescriptionError as error:
        yield f"what was written cannot be read: {error}"


def _refuse(constant: str) -> None:
    raise ValueError(f"{constant} in JSON")


def _faults_of_json(case: Case, outcome: Outcome) -> list[str]:
    try:
        answer = json.loads(outcome.out, parse_constant=_refuse)
    except ValueError as error:
        return [f"no JSON: {error}: {outcome.out[:80]!r}"]
    if outcome.status >= 2:
        told = answer.get("errors") and set(answer) == {"schema_version", "errors"}
        return [] if told else [f"status {outcome.status} without errors in its JSON"]
    if "errors" in answer:
        return [f"status {outcome.status} with errors in its JSON"]
    if case.command == "check":
        return [*faults_of_verdict(answer, outcome.status), *_left_out(answer, case)]
    inner = [answer[key] for key in ("after", "result") if key in answer] + answer.get("results", [])
    found = [fault for verdict in inner for fault in faults_of_verdict(verdict, None)]
    if case.command == "fix" and answer["clears"] != (answer["after"]["counts"]["over"] == 0):
        found.append("fix tells it clears, and does not, or the other way round")
    return found


def faults_of_verdict(verdict: dict[str, Any], status: int | None) -> Iterator[str]:
    """Go through what contradicts itself in a result."""
    counts, findings = verdict["counts"], verdict["findings"]
    for state in ("over", "close", "not_rated", "pass"):
        if counts[state] != sum(finding["state"] == state for finding in findings):
            yield f"counts of {state} are not the findings'"
    if status is not None and (status == 1) != (counts["over"] > 0):
        yield f"status {status} with {counts['over']} over"
    for finding in findings:
        for fault in _faults_of_finding(verdict, finding):
            yield f"{finding['code']} {finding['band']} {finding['part']}: {fault}"
    for band in verdict["bands"]:
        if not band["points"]:
            yield f"band {band['name']} has no points"
        for point in band["points"]:
            if not -_ROUNDING <= point["efficiency"] <= 1 + _ROUNDING:
                yield f"{band['name']}: a network without sources delivers {point['efficiency']} of what it takes"


def _faults_of_finding(verdict: dict[str, Any], finding: dict[str, Any]) -> Iterator[str]:
    code, used, state = finding["code"], finding["used_fraction"], finding["state"]
    if state == "pass" and finding["value"] is None and not _has_no_harmonics(verdict, finding):
        yield "passed without a value"
    if used is None:
        return
    if (used > 1 + _ROUNDING and state in ("pass", "not_rated")) or (
        code in _JUDGED and (state == "over") != (used > 1)
    ):
        yield f"used {used} is {state}"
    rated = code in _RATINGS.values() and finding["limit"]
    if rated and not math.isclose(used, finding["value"] / finding["limit"], rel_tol=_ROUNDING):
        yield f"{finding['value']} of {finding['limit']} is used {used}"


def _has_no_harmonics(verdict: dict[str, Any], finding: dict[str, Any]) -> bool:
    """Whether a finding is of harmonics, and a pulse of 360 degrees has none: then there is no level to tell."""
    if not finding["code"].startswith("harmonic"):
        return False
    everywhere = [verdict, *verdict.get("operating_points", ())]
    here = [bands for bands in everywhere if bands.get("name") == finding.get("operating_point")]
    harmonics = [
        harmonic
        for bands in here
        for band in bands["bands"]
        if band["name"] == finding["band"]
        for point in band["points"]
        for harmonic in point["harmonics"]
    ]
    return all(h["level_dbc"] is None and not h["unknown"] for h in harmonics)


def _left_out(verdict: dict[str, Any], case: Case) -> Iterator[str]:
    """Go through what the file has and the result does not judge: bands, frequencies, ratings."""
    from netsim.description.reader import loads

    amplifier = loads(case.files["amplifier.toml"].decode("utf-8-sig"), "amplifier.toml")
    described, wanted = amplifier.description, None
    if "--band" in case.arguments:
        wanted = case.arguments[case.arguments.index("--band") + 1]
    bands = [b for n, b in enumerate(described.bands) if wanted is None or n == amplifier.band_index(wanted)]
    solved = {
        band["name"]: [point["frequency_hertz"] for point in band["points"]] for band in verdict["bands"]
    }
    if solved != {band.name: list(band.frequencies) for band in bands}:
        yield "bands or frequencies left out"
    found = {(finding["code"], finding["band"], finding["part"]) for finding in verdict["findings"]}
    for band in bands:
        for code in _FOR_EVERY_BAND:
            if not any((code, band.name) == key[:2] for key in found):
                yield f"{band.name} is not judged for {code}"
        for part, keys in _rated(described, band):
            for key in keys:
                code = _RATINGS[key]
                if (code, band.name, part) not in found:
                    yield f"{part}.{key} is not judged on {band.name}"


def _rated(described: Any, band: Any) -> Iterator[tuple[str, list[str]]]:
    """Go through the parts of a band and those of their ratings that the file gives."""
    for part in type(described.network).model_fields:
        there = getattr(described.network, part)
        if part.endswith("padding") and getattr(band, part) is None:
            continue
        keys = [key for key in _RATINGS if getattr(there, key, None) is not None]
        if keys:
            yield part, keys
