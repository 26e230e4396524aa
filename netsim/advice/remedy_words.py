"""What is said of remedies: what each does, and what stands in the way where there is none."""

import math
from collections.abc import Sequence

import numpy as np

from netsim.advice.change import Change, written
from netsim.advice.outcome import CLOSE, OVER, Outcome, check_of
from netsim.advice.part_changes import LEAST_STRAY
from netsim.advice.preferred_values import MINIMA
from netsim.advice.remedy_candidates import OpenFinding
from netsim.circuit.sections import loaded_q
from netsim.description.formatting import format_quantity, percent
from netsim.description.models.amplifier import Description
from netsim.verdict.judged import Check
from netsim.verdict.result import Finding, State, Worse
from netsim.verdict.solved import Solved

_MEANWHILE = {
    "part_unloaded_voltage": "until then never tune at full supply with the antenna off",
    "part_tuning_voltage": "until then tune at reduced drive, and never without an antenna",
}
_NONE = "no single change that was tried clears it without doing harm elsewhere"
_ELSEWHERE = {
    "harmonic_level": "a low-pass filter behind the amplifier would, and so may several changes together",
    "harmonic_spread": "measure the antenna (antenna.measured), or use a filter that holds its own termination",
    "coil_temperature": "a draught of air or thicker wire cools it; first measure, this is an estimate",
    "self_resonance": "fewer turns, a smaller diameter or a wider pitch raise the resonance",
    "tube_disagrees": "check bias, drive and the tube's curves against [stage], or leave bias_voltage and "
    "drive_voltage_peak out of [tube] to have them found",
    "second_match": "start from full load capacitance, and stop at the first match",
}
WHILE_TUNING = "tune at reduced drive, in short turns, and never without an antenna"
_ON_ANTENNAS = {
    "plate_match": "more range of the capacitors, another coil, or an antenna tuner outside the amplifier may; changes "
    "are not solved on every antenna here",
    "plate_dissipation": "reduce the drive until the plate current falls in proportion while the SWR is high",
    "harmonic_level": "a low-pass filter behind the amplifier would",
}
_MATCHED = 0.005
_TOGETHER = "several changes together may"
_SEARCH = f"{_TOGETHER}: netsim fix looks for them"


def named(check: Check | Worse) -> str:
    """Return what a check is about, such as "load capacitor current" or "loaded Q"."""
    kind = check.code.removeprefix("part_").replace("_", " ")
    kind = kind.removesuffix(" q") + " Q" if kind.endswith(" q") else kind
    if check.part in ("network", "stage") or kind.startswith(check.part.partition("_")[0]):
        return kind
    return f"{check.part.replace('_', ' ')} {kind}"


def remedy_text(
    change: Change,
    finding: Finding,
    used: float | None,
    state: State,
    worse: Sequence[tuple[Worse, bool]],
    *more: str,
) -> str:
    """Say what to do, how much of the limit is used then, and what gets worse.

    Parameters
    ----------
    change, finding : Change, Finding
        What to do, and what it mends.
    used, state : float or None, str
        Used fraction and state of the finding then.
    worse : sequence of (Worse, bool)
        What becomes over or close, or rises noticeably, and whether it was in that state already.
    *more : str
        What else is to be said.
    """
    then = "" if used is None else ": matched then" if used < _MATCHED else f": {percent(used)} used then"
    if state == "close":
        then += ", still close"
    words = [f"{change.title}{then}"]
    for word, state_then, already in (
        ("but then over", "over", False),
        ("further over", "over", True),
        ("then close", "close", False),
    ):
        some = [
            f"{named(w)}{_of_band(w, finding)}" for w, was in worse if (w.state, was) == (state_then, already)
        ]
        if some:
            words.append(f"{word}: {_listed(some)}")
    meanwhile = _MEANWHILE.get(finding.code) if finding.state == "over" else None
    return "; ".join([*words, *more, *([meanwhile] if meanwhile else [])])


def _of_band(worse: Worse, finding: Finding) -> str:
    point = (
        f" at {worse.operating_point}" if worse.operating_point not in (None, finding.operating_point) else ""
    )
    return f"{point} on {worse.band}" if worse.band not in (None, finding.band) else point


def _listed(some: Sequence[str]) -> str:
    every = list(dict.fromkeys(some))
    return ", ".join(every[:3]) + (f" and {len(every) - 3} more" if len(every) > 3 else "")


def output_text(least: float, most: float) -> str:
    """Say what share of the output is given up: by the band that keeps least, and by the one that keeps most."""
    if least > 0.9995:
        return "no less output"
    if least > most - 0.005:
        return f"{percent(1 - least)} less output"
    begin = "up to" if most > 0.995 else f"{percent(1 - most)} to"
    return f"{begin} {percent(1 - least)} less output, by band"


def window_text(least: float, most: float) -> str:
    """Say how much padding [F] brings all settings of a band into range."""
    low, high = written(least, "F"), written(most, "F")
    return f"at most {high} would do" if least <= 0 else f"at least {low}, at most {high} would do"


def why_not(title: str, target: float, chosen: Outcome, nearest: Outcome) -> str:
    """Say why a tap or coil is not the titled one, nearest to the target of the loaded Q; outcomes of one column."""
    step = nearest.state.max(axis=(1, 2)) - chosen.state.max(axis=(1, 2))
    place = int(np.argmax(step))
    state = int(nearest.state[place].max())
    word = "over" if state == OVER else "close" if state == CLOSE else "not better"
    then = title.partition(" instead of ")[0]
    return f"with {then}, nearest to a loaded Q of {target:g}, {named(nearest.checks[place])} would be {word}"


def none_found(solved: Solved, before: Outcome, one: OpenFinding, given: Description) -> str:
    """Say that no single change was found for a finding, and what limits it; `given` has the ratings there are."""
    finding = one.finding
    # Of a proposal, whose ratings were others before, it was the search that looked for several.
    together = _SEARCH if given is solved.description else f"{_TOGETHER}, none of those tried does"
    if finding.case == "any_antenna" and finding.code in _ON_ANTENNAS:
        return f"{_NONE}; {_ON_ANTENNAS[finding.code]}"
    place = before.index.get(check_of(finding))
    if place is not None and before.rating[place] is not None:
        return f"{_NONE}; {_MEANWHILE.get(finding.code) or together}"
    words = [_NONE]
    if finding.code in ("tuning_range", "plate_match", "loaded_q"):
        words += _too_much(solved, one)
        words += _blocked(solved, one)
    tuning = finding.case == "while_tuning"
    words.append(WHILE_TUNING if tuning else _ELSEWHERE.get(finding.code, together))
    return "; ".join(words)


def _too_much(solved: Solved, one: OpenFinding) -> list[str]:
    """Say how much of what is too much on the plate side is the tube's own."""
    parts, row = solved.assembly.parts.take(np.array([one.row])), one.row
    minimum, stray, padding, tube = (
        float(np.broadcast_to(getattr(parts, name), (1,))[0])
        for name in ("tune_minimum", "tune_stray", "tune_padding", "output_capacitance")
    )
    room = float(solved.settings.tune_needed[row]) + padding + stray
    alone = float(loaded_q(parts, np.array(-padding - stray))[0])
    if np.isnan(room) and alone > solved.description.limits.loaded_q[1]:
        return [
            f"the {_farads(tube)} of the tube alone make a loaded Q of {alone:.0f}: what is too much is the tube's "
            "own, which no part takes away"
        ]
    if not room < min(MINIMA[0], minimum) + min(LEAST_STRAY, stray):
        return []
    said = f"the match wants {_farads(room)} on the plate side beside the {_farads(tube)} of the tube"
    if room < 0:
        return [f"{said}: {_farads(-room)} of what is too much is the tube's own, which no part takes away"]
    return [f"{said}, less than any capacitor and wiring have"]


def _blocked(solved: Solved, one: OpenFinding) -> list[str]:
    """Name a blocking capacitor whose reactance is more than a tenth of the plate load as a cause."""
    present = solved.description.network.blocking_capacitor
    if present is None:
        return []
    reactance = 1 / (2 * math.pi * float(solved.frequency[one.row]) * present.capacitance)
    if reactance <= float(solved.assembly.parts.plate_load[one.row]) / 10:
        return []
    return [
        f"the blocking capacitor's {format_quantity(reactance, 'ohm')} there, more than a tenth of the plate load, "
        "are a cause"
    ]


def _farads(value: float) -> str:
    return format_quantity(value, "F")
