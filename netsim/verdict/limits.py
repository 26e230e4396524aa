"""Findings of the stage and the network as a whole: dissipation, loaded Q, harmonics, match."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from netsim.description.formatting import format_quantity
from netsim.verdict import remedies
from netsim.verdict.judgement import (
    HARMONIC_MARGIN_DB,
    MATCH_LIMIT,
    Rows,
    fraction_of_level,
    fraction_of_match,
    fraction_of_window,
    number,
    state_of,
    worst,
)
from netsim.verdict.result import Finding
from netsim.verdict.solved import Evidence


@dataclass(frozen=True)
class _Band:
    index: int
    name: str
    rows: Rows


def findings(evidence: Evidence) -> Iterator[Finding]:
    """Judge dissipation, loaded Q, harmonic level and plate match of every band."""
    rating = evidence.amplifier.description.stage.dissipation_rating
    if rating is None:
        yield _dissipation_not_rated(evidence)
    for band in (_Band(*entry) for entry in evidence.bands()):
        if rating is not None:
            yield _dissipation(evidence, band, rating)
        yield _loaded_q(evidence, band)
        yield _harmonic_level(evidence, band)
        yield _plate_match(evidence, band)


def _dissipation(evidence: Evidence, band: _Band, rating: float) -> Finding:
    values = evidence.plate_dissipation
    row = worst(values / rating, band.rows)
    value, used = float(values[row]), float(values[row] / rating)
    state = state_of(used, evidence.amplifier.description.limits.close_to_rating)
    frequency = float(evidence.frequency[row])
    stage = evidence.assembly.stage
    current = stage.direct_current * rating / value if value > 0 else stage.direct_current
    mismatch = (
        f"; first mend the match (SWR {evidence.swr[row]:.2f} at the plate)"
        if not evidence.tuned[row]
        else ""
    )
    return Finding(
        code="plate_dissipation",
        state=state,
        case="matched",
        band=band.name,
        frequency_hertz=frequency,
        part="stage",
        quantity="plate_dissipation",
        value=value,
        limit=rating,
        unit="W",
        used_fraction=used,
        message=f"plate dissipation: {format_quantity(value, 'W')} at {format_quantity(frequency, 'Hz')}, "
        f"rated {format_quantity(rating, 'W')} ({used:.0%})",
        why=f"s (V I_dc + I_1 E / 2) - plate power, with s = {evidence.scale[row]:.3g}: "
        f"{format_quantity(stage.input_power, 'W')} DC input at s = 1, "
        f"{format_quantity(float(evidence.output_power[row] / evidence.efficiency[row]), 'W')} to the network",
        fix=""
        if state == "pass"
        else f"a plate current of {format_quantity(current, 'A')} at most under the same conditions{mismatch}",
        line=evidence.line("stage", "dissipation_rating"),
    )


def _dissipation_not_rated(evidence: Evidence) -> Finding:
    highest = format_quantity(float(evidence.plate_dissipation.max()), "W")
    return Finding(
        code="plate_dissipation",
        state="not_rated",
        case="matched",
        band=None,
        frequency_hertz=None,
        part="stage",
        quantity="plate_dissipation",
        value=None,
        limit=None,
        unit="W",
        used_fraction=None,
        message="plate dissipation: no dissipation rating in the file, so not judged",
        why=f"highest value found: {highest}",
        fix='add dissipation_rating = "..." under [stage], all tubes together',
        line=evidence.line("stage"),
    )


def _loaded_q(evidence: Evidence, band: _Band) -> Finding:
    limits = evidence.amplifier.description.limits
    low, high = limits.loaded_q
    used = fraction_of_window(evidence.loaded_q, low, high)
    row = worst(used, band.rows)
    value, fraction = float(evidence.loaded_q[row]), number(used[row])
    state = state_of(fraction, limits.close_to_rating)
    frequency = float(evidence.frequency[row])
    limit = low if value < math.sqrt(low * high) else high
    return Finding(
        code="loaded_q",
        state=state,
        case="matched",
        band=band.name,
        frequency_hertz=frequency,
        part="network",
        quantity="loaded_q",
        value=value,
        limit=limit,
        unit="1",
        used_fraction=fraction,
        message=f"loaded Q: {value:.1f} at {format_quantity(frequency, 'Hz')}, wanted {low:g} to {high:g}",
        why="plate load x net susceptance on the plate side: "
        f"{format_quantity(evidence.assembly.stage.plate_load, 'ohm')} x "
        f"{value / evidence.assembly.stage.plate_load * 1e3:.3g} mS "
        f"(by stored energy: {evidence.stored_energy_q[row]:.1f})",
        fix="" if state == "pass" else remedies.for_loaded_q(evidence, row),
        line=evidence.coil_line(band.index),
    )


def _harmonic_level(evidence: Evidence, band: _Band) -> Finding:
    limit = evidence.amplifier.description.limits.harmonic_level
    levels = np.where(np.isnan(evidence.level), -np.inf, evidence.level)[band.rows, 1:]
    place, column = np.unravel_index(int(np.argmax(levels)), levels.shape)
    row, order = int(band.rows[place]), int(column) + 2
    level = float(levels[place, column])
    used = float(fraction_of_level(np.asarray(level), limit))
    state = state_of(used, 10 ** (-HARMONIC_MARGIN_DB / 20))
    frequency = float(evidence.frequency[row])
    share = evidence.level[row, order - 1] + evidence.attenuation[row, order - 1]
    silent = not np.isfinite(level)
    return Finding(
        code="harmonic_level",
        state=state,
        case="matched",
        band=band.name,
        frequency_hertz=frequency,
        part="network",
        quantity="level",
        value=number(level),
        limit=limit,
        unit="dB",
        used_fraction=used,
        message="harmonics: the plate-current pulse has none"
        if silent
        else f"harmonic {order}: {level:.1f} dBc at {format_quantity(order * frequency, 'Hz')}, limit {limit:g} dBc",
        why="a conduction angle of 360 degrees is a pure cosine"
        if silent
        else f"20 log10 |I_{order} / I_1| - attenuation = {share:.1f} - "
        f"{evidence.attenuation[row, order - 1]:.1f} dB, into a resistive antenna",
        fix="" if state == "pass" else remedies.for_harmonic_level(evidence, level - limit, row),
        line=evidence.line("limits", "harmonic_level"),
        order=None if silent else order,
    )


def _plate_match(evidence: Evidence, band: _Band) -> Finding:
    used = fraction_of_match(evidence.swr)
    row = worst(used, band.rows)
    value, fraction = float(evidence.swr[row]), number(used[row])
    state = state_of(fraction, evidence.amplifier.description.limits.close_to_rating)
    frequency = float(evidence.frequency[row])
    impedance = evidence.plate_impedance[row]
    given = not np.isnan(evidence.assembly.tune_given[row])
    fix = ""
    if state != "pass" and np.isnan(evidence.settings.tune_needed[row]):
        fix = remedies.for_no_match(evidence, row)
    elif state != "pass":
        fix = (
            f"{'set' if given else 'the match needs'} tune "
            f"{format_quantity(float(evidence.settings.tune_needed[row]), 'F')} and load "
            f"{format_quantity(float(evidence.settings.load_needed[row]), 'F')}"
        )
    return Finding(
        code="plate_match",
        state=state,
        case="matched",
        band=band.name,
        frequency_hertz=frequency,
        part="network",
        quantity="swr",
        value=value,
        limit=MATCH_LIMIT,
        unit="1",
        used_fraction=fraction,
        message=f"plate match: SWR {value:.2f} at {format_quantity(frequency, 'Hz')}, "
        f"expected output {format_quantity(float(evidence.output_power[row]), 'W')}",
        why=f"the plate sees {impedance.real:.0f} {'+' if impedance.imag >= 0 else '-'} "
        f"j{abs(impedance.imag):.0f} ohm and wants {evidence.assembly.stage.plate_load:.0f} ohm",
        fix=fix,
        line=evidence.line("bands", band.index),
    )
