"""Antennas that are not matched."""

import cmath
import math

import numpy as np

from netsim.circuit.reflection import swr_of
from netsim.description.formatting import percent
from netsim.verdict.any_antenna import HARMONIC_SWR, AnyAntenna
from netsim.verdict.checks.parts import RATING_OF
from netsim.verdict.judged import Judged
from netsim.verdict.solved import Solved
from netsim.verdict.words.network import unknown_words
from netsim.verdict.words.parts import gap_words, shown
from netsim.verdict.words.text import Text, against, at, label, written

_SHARES = (
    (0.02, "very few"),
    (0.15, "a small part"),
    (0.29, "about a quarter"),
    (0.42, "about a third"),
    (0.58, "about half"),
    (0.71, "about two thirds"),
    (0.85, "about three quarters"),
)


def load_words(found: AnyAntenna, row: int, load: int) -> str:
    """Say which antenna: SWR, phase of its reflection coefficient, impedance."""
    reflection, impedance = complex(found.reflection[row, load]), complex(found.impedance[row, load])
    # On the real axis only rounding is left of the reactance.
    reactance = 0.0 if abs(impedance.imag) < 1e-9 * abs(impedance) else impedance.imag
    sign = "+" if reactance >= 0 else "-"
    return (
        f"SWR {float(swr_of(np.asarray(reflection))):.3g} at {math.degrees(cmath.phase(reflection)):.0f} degrees "
        f"({impedance.real:.3g} {sign} j{abs(reactance):.3g} ohm)"
    )


def antenna_words(found: AnyAntenna, row: int, load: int) -> str:
    """Say on which antenna something is so."""
    one = "the measured antenna," if found.swr is None else "an antenna of"
    return f"{one} {load_words(found, row, load)}"


def share_in_words(share: float) -> str:
    """Say a share of all antennas in words."""
    if share <= 0:
        return "none"
    if share >= 1:
        return "all"
    return next((words for limit, words in _SHARES if share < limit), "nearly all")


def part(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what a part carries at its worst antenna."""
    found, load = _found(solved, judged, row)
    rating = RATING_OF[judged.check.code]
    value, limit = float(judged.value[row]), float(judged.limit[row])
    which = f"the worst of {found.impedance.shape[1]} antennas, re-tuned at each"
    if found.swr is None:
        which = "the measured antenna, re-tuned"
    return Text(
        f"{label(judged.check.part)}: {shown(rating, value)} at {at(solved, row)} on {antenna_words(found, row, load)}"
        f", rated {shown(rating, limit)}{gap_words(solved, judged, row)} ({percent(value / limit)})",
        f"{which}: tune {written(found.tune[row, load], 'F')}, load {written(found.load[row, load], 'F')}, "
        f"plate {'matched' if found.matched[row, load] else 'not matched, peaked within range'}; "
        f"the antenna's harmonics {_harmonics_meet(found, row)}",
    )


def dissipation(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the heat of the plate at its worst antenna."""
    found, load = _found(solved, judged, row)
    place = f" at {at(solved, row)} on {antenna_words(found, row, load)}"
    return Text(
        f"plate dissipation: {against(judged, row, place)}",
        f"re-tuned within range the plate there sees an SWR of {found.plate_swr[row, load]:.2f}",
    )


def plate_match(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell how many antennas cannot be matched, and the worst."""
    found, load = _found(solved, judged, row)
    assembly = solved.assembly
    same = (assembly.band_index == assembly.band_index[row]) & (
        assembly.point_index == assembly.point_index[row]
    )
    share = float(found.unmatched_share[same].max())
    there = f"SWR {judged.value[row]:.2f} at {at(solved, row)} on {load_words(found, row, load)}"
    if found.swr is None:
        return Text(
            f"the measured antenna {'cannot' if share else 'can'} be matched; plate match {there}",
            "both capacitors re-tuned within their ranges; where no setting shows the plate its load the output is "
            "peaked instead",
        )
    told = f"{share_in_words(share)} of the antennas up to an SWR of {found.swr:g} cannot be matched ({share:.0%})"
    if not share:
        told = f"all antennas up to an SWR of {found.swr:g} can be matched"
    return Text(
        f"{told}; worst plate match {there}",
        "share of the disc of reflection coefficients, at the band's worst frequency, for which no setting within "
        "both ranges shows the plate its load; there the output is peaked instead",
    )


def harmonic_spread(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell between which levels a harmonic can lie."""
    assert judged.order is not None
    assert solved.harmonic_spread is not None
    order, limit = int(judged.order[row]), float(judged.limit[row])
    why = (
        "the level into an antenna that is not matched at the harmonic cannot be known from the network alone: "
        "this is the spread over every termination up to that SWR, all phases"
    )
    unknown = unknown_words(solved.unknown_orders[row], "the filter's file")
    if not order:
        return Text(f"harmonics: {unknown or 'the plate-current pulse has none'}", why)
    level = float(solved.level[row, order - 1])
    least, most = level + solved.harmonic_spread[row, order - 1]
    return Text(
        f"harmonic {order}: {level:.1f} dBc into the matched resistance, {least:.1f} to {most:.1f} dBc over "
        f"terminations up to SWR {HARMONIC_SWR:g}, limit {limit:g} dBc{unknown and f'; {unknown}'}",
        why,
    )


def measured_level(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the highest harmonic into the measured antenna."""
    assert judged.order is not None
    order, limit = int(judged.order[row]), float(judged.limit[row])
    found, _ = _found(solved, judged, row)
    unknown = unknown_words(found.unknown[row], "the measurement")
    why = "power of the harmonic over that of the fundamental, both in the antenna's own measured impedance"
    if not order:
        return Text(
            f"harmonics into the measured antenna: {unknown or 'the plate-current pulse has none'}", why
        )
    return Text(
        f"harmonic {order}: {judged.value[row]:.1f} dBc at {written(order * solved.frequency[row], 'Hz')} into the "
        f"measured antenna, limit {limit:g} dBc{unknown and f'; {unknown}'}",
        why,
    )


def _harmonics_meet(found: AnyAntenna, row: int) -> str:
    """Say what harmonics meet on other antennas."""
    if found.swr is not None:
        return "into the matched resistance"
    unknown = np.flatnonzero(found.unknown[row]) + 1
    if not unknown.size:
        return "as measured"
    if unknown[0] == 2:
        return "into the matched resistance, because they were not measured"
    return f"as measured, from order {unknown[0]} on into the matched resistance"


def _found(solved: Solved, judged: Judged, row: int) -> tuple[AnyAntenna, int]:
    assert solved.any_antenna is not None
    load = 0 if judged.load is None else int(judged.load[row])
    return solved.any_antenna, load
