"""Findings on any antenna: the worst of every part over all loads, what cannot be matched, harmonics."""

import cmath
import math
from collections.abc import Iterator

import numpy as np

from netsim.circuit.reflection import swr_of
from netsim.description.formatting import format_quantity
from netsim.verdict.antenna_harmonics import measured_level, spread
from netsim.verdict.any_antenna import AnyAntenna
from netsim.verdict.judgement import (
    MATCH_LIMIT,
    Rows,
    fraction_of_match,
    number,
    state_of,
)
from netsim.verdict.ratings import RULES, Rule, effective_rating, gap_words, ratings_of
from netsim.verdict.result import PART_NAMES, Case, Finding
from netsim.verdict.solved import Evidence

CASE: Case = "any_antenna"
_SHARES = (
    (0.02, "very few"),
    (0.15, "a small part"),
    (0.29, "about a quarter"),
    (0.42, "about a third"),
    (0.58, "about half"),
    (0.71, "about two thirds"),
    (0.85, "about three quarters"),
)
_QUANTITIES = {"voltage_peak", "current_rms", "loss", "reactive_power"}


def findings(evidence: Evidence) -> Iterator[Finding]:
    """Judge every part at its worst antenna, and the antennas that the network cannot match.

    Yields
    ------
    Finding
        Of case ``any_antenna``, one for each band, part and rating that the file gives; none where the file
        asks for the matched antenna alone.
    """
    full = evidence.full_output
    if full is None or full.any_antenna is None:
        return
    found = full.any_antenna
    for name in PART_NAMES:
        part = getattr(evidence.amplifier.description.network, name)
        if name in found.stress and part is not None:
            for rule in RULES:
                rating = effective_rating(part, rule.rating) if rule.rating in ratings_of(name) else None
                if rating is not None and rule.quantity in _QUANTITIES:
                    yield from _part(evidence, found, name, rule, rating)
    rating = evidence.amplifier.description.stage.dissipation_rating
    for index, band, rows in evidence.bands():
        if rating is not None:
            yield _dissipation(evidence, found, band, rows, rating)
        yield _unmatched(evidence, found, (index, band), rows)
        if full.harmonic_spread is not None:
            yield spread(evidence, full.harmonic_spread, band, rows)
        else:
            yield measured_level(evidence, found, band, rows)


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


def share_in_words(share: float) -> str:
    """Say a share of all antennas in words."""
    if share <= 0:
        return "none"
    if share >= 1:
        return "all"
    return next((words for limit, words in _SHARES if share < limit), "nearly all")


def _part(evidence: Evidence, found: AnyAntenna, name: str, rule: Rule, rating: float) -> Iterator[Finding]:
    stress = found.stress[name]
    limits, stage = evidence.amplifier.description.limits, evidence.amplifier.description.stage
    duty = stage.duty if rule.code == "part_power" else 1.0
    values, loads = getattr(stress, rule.quantity), stress.worst_load(rule.quantity)
    source, key = gap_words(evidence, name, rule)
    label = name.replace("_", " ")
    for _, band, rows in evidence.bands():
        rows = rows[stress.present[rows]]
        if not rows.size:
            continue
        row = int(rows[np.argmax(values[rows, loads[rows]])])
        load = int(loads[row])
        value = float(values[row, load]) * duty
        used = value / rating
        state = state_of(used, limits.close_to_rating)
        frequency = float(evidence.frequency[row])
        settings = (
            f"tune {format_quantity(float(found.tune[row, load]), 'F')}, "
            f"load {format_quantity(float(found.load[row, load]), 'F')}"
        )
        plate = "matched" if found.matched[row, load] else "not matched, peaked within range"
        yield Finding(
            code=rule.code,
            state=state,
            case=CASE,
            band=band,
            frequency_hertz=frequency,
            part=name,
            quantity=rule.quantity,
            value=value,
            limit=rating,
            unit=rule.unit,
            used_fraction=used,
            message=f"{label}: {rule.shown(value)} at {format_quantity(frequency, 'Hz')} on an antenna of "
            f"{load_words(found, row, load)}, rated {rule.shown(rating)}{source} ({used:.0%})",
            why=f"the worst of {found.impedance.shape[1]} antennas, re-tuned at each: {settings}, plate {plate}; "
            "the antenna's harmonics "
            + ("as measured" if found.swr is None else "into the matched resistance"),
            fix="" if state == "pass" else _fix(rule, found, value / limits.close_to_rating),
            line=evidence.line("network", name, key),
        )


def _fix(rule: Rule, found: AnyAntenna, asked: float) -> str:
    antenna = "another antenna" if found.swr is None else f"an SWR well below {found.swr:g}"
    return f"a part rated {rule.shown(asked)} or more, {antenna}, or less power while the SWR is high"


def _dissipation(evidence: Evidence, found: AnyAntenna, band: str, rows: Rows, rating: float) -> Finding:
    values = found.plate_dissipation[rows]
    place, load = np.unravel_index(int(np.argmax(values)), values.shape)
    row = int(rows[place])
    value = float(values[place, load])
    used = value / rating
    state = state_of(used, evidence.amplifier.description.limits.close_to_rating)
    frequency = float(evidence.frequency[row])
    return Finding(
        code="plate_dissipation",
        state=state,
        case=CASE,
        band=band,
        frequency_hertz=frequency,
        part="stage",
        quantity="plate_dissipation",
        value=value,
        limit=rating,
        unit="W",
        used_fraction=used,
        message=f"plate dissipation: {format_quantity(value, 'W')} at {format_quantity(frequency, 'Hz')} on an antenna "
        f"of {load_words(found, row, int(load))}, rated {format_quantity(rating, 'W')} ({used:.0%})",
        why=f"re-tuned within range the plate there sees an SWR of {found.plate_swr[row, load]:.2f}",
        fix="" if state == "pass" else "reduce the drive until the plate current falls in proportion",
        line=evidence.line("stage", "dissipation_rating"),
    )


def _unmatched(evidence: Evidence, found: AnyAntenna, band: tuple[int, str], rows: Rows) -> Finding:
    shares = found.unmatched_share
    row = int(
        rows[np.argmax(np.where(np.isnan(found.plate_swr[rows]), np.inf, found.plate_swr[rows]).max(axis=1))]
    )
    share = float(shares[rows].max())
    load = int(np.argmax(found.plate_swr[row]))
    swr = float(found.plate_swr[row, load])
    used = number(float(fraction_of_match(np.asarray(swr))))
    state = state_of(used, evidence.amplifier.description.limits.close_to_rating)
    frequency = float(evidence.frequency[row])
    which = "the measured antenna" if found.swr is None else f"antennas up to an SWR of {found.swr:g}"
    told = f"{share_in_words(share)} of the {which} cannot be matched ({share:.0%})"
    if not share:
        told = f"all {which} can be matched"
    if found.swr is None:
        told = f"{which} {'cannot' if share else 'can'} be matched"
    return Finding(
        code="plate_match",
        state=state,
        case=CASE,
        band=band[1],
        frequency_hertz=frequency,
        part="network",
        quantity="swr",
        value=number(swr),
        limit=MATCH_LIMIT,
        unit="1",
        used_fraction=used,
        message=f"{told}; worst plate match SWR {swr:.2f} at {format_quantity(frequency, 'Hz')} on "
        f"{load_words(found, row, load)}",
        why="share of the disc of reflection coefficients, at the band's worst frequency, for which no setting within "
        "both ranges shows the plate its load; there the output is peaked instead",
        fix=""
        if state == "pass"
        else "more range of the capacitors (padding), another coil, or an antenna tuner outside the amplifier",
        line=evidence.line("bands", band[0]),
    )
