"""What a remedy promises, held against the file with the remedy written into it and checked as a whole."""

import re
from typing import Any

from netsim.analysis import Analysis, analyse
from netsim.description.reader import Amplifier

SEVERITY = {"over": 2, "close": 1, "not_rated": 0, "pass": 0}


def changed(amplifier: Amplifier, edits: Any) -> Amplifier:
    """Return the amplifier with keys and values as a remedy gives them."""
    return amplifier.replace({edit.key: edit.value for edit in edits})


def key_of(entry: Any) -> tuple[Any, ...]:
    """Return what tells a finding, or what is worse, from the others."""
    return entry.code, entry.band, entry.part, entry.quantity, entry.case, entry.operating_point


def broken_promises(result: Analysis) -> list[str]:
    """Apply every remedy of a result by itself, check the whole amplifier, and list what is not as it was told."""
    amplifier, swr = result.amplifier, result.swr
    before = {key_of(finding): finding for finding in result.verdict.findings}
    was_tuned = _tuned(result)
    checked: dict[str, Analysis] = {}
    found = []
    for finding in result.verdict.findings:
        for remedy in finding.remedies:
            name = f"{finding.code} {finding.band} {finding.part}: {remedy.text}"
            known = repr(remedy.edits)
            if known not in checked:
                checked[known] = analyse(changed(amplifier, remedy.edits), engine="two-port", swr=swr)
            whole = checked[known]
            after = {key_of(other): other for other in whole.verdict.findings}
            found += [f"{name}: {what}" for what in _of_finding(finding, remedy, after)]
            found += [f"{name}: {what}" for what in _of_others(remedy, before, after)]
            found += [f"{name}: {what}" for what in _of_output(remedy, result, whole)]
            if was_tuned - _tuned(whole):
                found.append(f"{name}: untuned {was_tuned - _tuned(whole)}")
    return found


def _of_finding(finding: Any, remedy: Any, after: Any) -> list[str]:
    there = after.get(key_of(finding))
    if there is None:
        return [] if remedy.used_after is None else ["it is gone, and a use is told"]
    wrong = []
    if remedy.clears != (SEVERITY[there.state] < SEVERITY[finding.state]):
        wrong.append(f"it is {there.state}, and clears is {remedy.clears}")
    return wrong + _apart(there.used_fraction, remedy.used_after)


def _of_output(remedy: Any, before: Analysis, after: Analysis) -> list[str]:
    """Hold the share of the output that is said to be given up against every band's most output."""
    told = re.search(r"(?:(up to|[\d.]+ % to) )?(?:([\d.]+) %|no) less output", remedy.text)
    if told is None:
        return []
    lost = [
        100 - 100 * max(p.output_watt for p in new.points) / max(p.output_watt for p in old.points)
        for old, new in zip(before.verdict.bands, after.verdict.bands, strict=True)
    ]
    least = float(told[1].split()[0]) if told[1] and told[1] != "up to" else None
    wrong = (
        []
        if abs(max(lost) - float(told[2] or 0)) < 0.1
        else [f"{max(lost):.1f} % less at most, not {told[2]}"]
    )
    if least is not None and abs(min(lost) - least) > 0.1:
        wrong.append(f"{min(lost):.1f} % less at least, not {least}")
    return wrong


def _of_others(remedy: Any, before: Any, after: Any) -> list[str]:
    told = {key_of(entry): entry for entry in remedy.worse}
    wrong = []
    for key, there in after.items():
        was = before.get(key)
        severity = SEVERITY[there.state]
        worse = severity > 0 and severity > (SEVERITY[was.state] if was else 0)
        if (
            was is not None
            and there.state == was.state == "over"
            and there.used_fraction
            and was.used_fraction
        ):
            worse = worse or there.used_fraction > was.used_fraction * 1.0001
        if worse and key not in told:
            wrong.append(f"{key} becomes {there.state}, {there.used_fraction}, and is not told")
        if key in told:
            wrong += _apart(there.used_fraction, told[key].used_after)
            if severity == 0:
                wrong.append(f"{key} is told as worse and is {there.state}")
    return wrong + [f"{key} is told as worse and is not there" for key in told.keys() - after.keys()]


def _apart(used: float | None, told: float | None) -> list[str]:
    if used is None or told is None:
        return [] if used is told else [f"used {used}, told {told}"]
    return [] if abs(used - told) <= 1e-3 * max(used, 1e-3) else [f"used {used:.5g}, told {told:.5g}"]


def _tuned(result: Analysis) -> set[tuple[Any, ...]]:
    found = {
        (None, band.name, point.frequency_hertz)
        for band in result.verdict.bands
        for point in band.points
        if point.tuned
    }
    return found | {
        (there.name, band.name, point.frequency_hertz)
        for there in result.verdict.operating_points
        for band in there.bands
        for point in band.points
        if point.tuned
    }
