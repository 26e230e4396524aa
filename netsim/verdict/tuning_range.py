"""Findings of tuning: whether both capacitors reach the match, and whether there is a second one."""

import math
from collections.abc import Iterator

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.verdict import remedies
from netsim.verdict.judgement import Rows, fraction_of_range, number, state_of, worst
from netsim.verdict.result import Finding
from netsim.verdict.solved import Evidence


def findings(evidence: Evidence) -> Iterator[Finding]:
    """Judge the tuning range of both capacitors in every band, and warn of a second match."""
    for index, name, rows in evidence.bands():
        for quantity in ("tune", "load"):
            yield _tuning_range(evidence, index, name, rows, quantity)
        yield from _second_match(evidence, index, name, rows)


def _tuning_range(evidence: Evidence, index: int, band: str, rows: Rows, quantity: str) -> Finding:
    parts = evidence.assembly.parts
    minimum = float(getattr(parts, f"{quantity}_minimum"))
    maximum = float(getattr(parts, f"{quantity}_maximum"))
    needed = getattr(evidence.settings, f"{quantity}_needed")
    used = fraction_of_range(needed, np.asarray(minimum), np.asarray(maximum))
    row = _worst(needed, used, rows)
    value, fraction = number(needed[row]), number(used[row])
    state = state_of(fraction, evidence.amplifier.description.limits.close_to_rating)
    frequency = float(evidence.frequency[row])
    ends = f"{format_quantity(minimum, 'F')} to {format_quantity(maximum, 'F')}"
    at = f"at {format_quantity(frequency, 'Hz')}"
    if value is None:
        message = f"{quantity} capacitor: no setting matches {at}; it has {ends}"
        why = "no real root: the coil is too large to be matched to this plate load by any capacitors"
    else:
        message = f"{quantity} capacitor: {format_quantity(value, 'F')} needed {at}, it has {ends}"
        why = _breakdown(evidence, quantity, row)
    limit = minimum if value is None or value < math.sqrt(minimum * maximum) else maximum
    return Finding(
        code="tuning_range",
        state=state,
        case="matched",
        band=band,
        frequency_hertz=frequency,
        part=f"{quantity}_capacitor",
        quantity=quantity,
        value=value,
        limit=limit,
        unit="F",
        used_fraction=fraction,
        message=message,
        why=why,
        fix="" if state == "pass" else remedies.for_tuning_range(evidence, quantity, row),
        line=evidence.line("network", f"{quantity}_capacitor", "minimum" if limit == minimum else "maximum"),
    )


def _worst(needed: FloatArray, used: FloatArray, rows: Rows) -> int:
    """Row that is furthest out; of settings below nothing, which have no fraction, the lowest."""
    values = needed[rows]
    if np.isnan(values).any() or (values > 0).all():
        return worst(used, rows)
    return int(rows[np.argmin(values)])


def _breakdown(evidence: Evidence, quantity: str, row: int) -> str:
    """Total that the match wants at a node, and what of it is there already."""
    parts = evidence.assembly.parts.take(np.array([row]))
    needed = float(getattr(evidence.settings, f"{quantity}_needed")[row])
    padding = float(getattr(parts, f"{quantity}_padding")[0])
    stray = float(getattr(parts, f"{quantity}_stray")[0])
    total = format_quantity(needed + padding + stray, "F")
    side = (
        f", beside {format_quantity(float(parts.output_capacitance[0]), 'F')} of the tube"
        if quantity == "tune"
        else ""
    )
    there = {"stray": stray, "padding": padding}
    given = ", ".join(f"{name} {format_quantity(value, 'F')}" for name, value in there.items() if value)
    return f"the match wants {total} at this node{side}; already there: {given or 'nothing'}"


def _second_match(evidence: Evidence, index: int, band: str, rows: Rows) -> Iterator[Finding]:
    within = evidence.settings.found.within(evidence.assembly.parts)
    both = rows[(within[0] & within[1])[rows]]
    if not both.size:
        return
    row = int(both[0])
    found = evidence.settings.found
    tune, load = found.tune[:, row], found.load[:, row]
    wanted, other = (
        f"tune {format_quantity(float(tune[i]), 'F')}, load {format_quantity(float(load[i]), 'F')}"
        for i in (0, 1)
    )
    frequency = float(evidence.frequency[row])
    yield Finding(
        code="second_match",
        state="close",
        case="matched",
        band=band,
        frequency_hertz=frequency,
        part="network",
        quantity="load",
        value=number(found.load[1, row]),
        limit=None,
        unit="F",
        used_fraction=None,
        message=f"a second pair of settings also matches at {format_quantity(frequency, 'Hz')}: {other}",
        why="the load setting solves a quadratic, and both roots are within reach; the one with less load "
        "capacitance gives slightly more output and far less harmonic attenuation, so peaking leads there",
        fix=f"start from full load capacitance and stop at {wanted}",
        line=evidence.line("bands", index),
    )
