"""Findings of harmonics into antennas that are not matched there: measured, or spread over what they may be."""

import math

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.verdict.any_antenna import AnyAntenna
from netsim.verdict.judgement import HARMONIC_MARGIN_DB, Rows, fraction_of_level, number, state_of
from netsim.verdict.result import Case, Finding
from netsim.verdict.solved import Evidence
from netsim.verdict.tube_and_antenna import HARMONIC_SWR

CASE: Case = "any_antenna"


def spread(evidence: Evidence, change: FloatArray, band: str, rows: Rows) -> Finding:
    """Judge the harmonic whose level could be highest, over terminations that nobody knows."""
    limit = evidence.amplifier.description.limits.harmonic_level
    base = np.where(np.isnan(evidence.level), -np.inf, evidence.level)[rows, 1:]
    highest = base + change[rows, 1:, 1]
    place, column = np.unravel_index(int(np.argmax(highest)), highest.shape)
    row, order = int(rows[place]), int(column) + 2
    level, most = float(base[place, column]), float(highest[place, column])
    least = level + float(change[row, order - 1, 0])
    frequency = float(evidence.frequency[row])
    silent = not math.isfinite(most)
    exceeds = not silent and most > limit
    return Finding(
        code="harmonic_spread",
        state="close" if exceeds else "pass",
        case=CASE,
        band=band,
        frequency_hertz=frequency,
        part="network",
        quantity="level",
        value=number(most),
        limit=limit,
        unit="dB",
        used_fraction=None if silent or exceeds else float(fraction_of_level(np.asarray(most), limit)),
        message="harmonics: the plate-current pulse has none"
        if silent
        else f"harmonic {order}: {level:.1f} dBc into the matched resistance, {least:.1f} to {most:.1f} dBc over "
        f"terminations up to SWR {HARMONIC_SWR:g}, limit {limit:g} dBc",
        why="the level into an antenna that is not matched at the harmonic cannot be known from the network alone: "
        "this is the spread over every termination up to that SWR, all phases",
        fix="measure the antenna (antenna.measured), or a filter that absorbs or holds its own termination"
        if exceeds
        else "",
        line=evidence.line("limits", "harmonic_level"),
        order=None if silent else order,
    )


def measured_level(evidence: Evidence, found: AnyAntenna, band: str, rows: Rows) -> Finding:
    """Judge the highest harmonic into the measured antenna."""
    limit = evidence.amplifier.description.limits.harmonic_level
    levels = np.where(np.isnan(found.level[rows, 0, 1:]), -np.inf, found.level[rows, 0, 1:])
    place, column = np.unravel_index(int(np.argmax(levels)), levels.shape)
    row, order = int(rows[place]), int(column) + 2
    level = float(levels[place, column])
    used = float(fraction_of_level(np.asarray(level), limit))
    state = state_of(used, 10 ** (-HARMONIC_MARGIN_DB / 20))
    frequency = float(evidence.frequency[row])
    return Finding(
        code="harmonic_level",
        state=state,
        case=CASE,
        band=band,
        frequency_hertz=frequency,
        part="network",
        quantity="level",
        value=number(level),
        limit=limit,
        unit="dB",
        used_fraction=used,
        message=f"harmonic {order}: {level:.1f} dBc at {format_quantity(order * frequency, 'Hz')} into the measured "
        f"antenna, limit {limit:g} dBc",
        why="power of the harmonic over that of the fundamental, both in the antenna's own measured impedance",
        fix="" if state == "pass" else "a low-pass filter, or a higher loaded Q",
        line=evidence.line("limits", "harmonic_level"),
        order=order,
    )
