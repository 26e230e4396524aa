"""Findings of what feeds and guards the network: plate choke, blocking capacitor, output choke."""

import math
from collections.abc import Iterator

from netsim.description.formatting import format_quantity
from netsim.verdict.judgement import Rows
from netsim.verdict.remedies import at_least
from netsim.verdict.result import Finding, State
from netsim.verdict.solved import Evidence

NEAR_RESONANCE = 0.1
"""A series resonance this close to a band, relative to its edges, is worth a warning."""


def findings(evidence: Evidence) -> Iterator[Finding]:
    """Judge the plate choke's reactance and resonances, and what keeps DC off the antenna."""
    choke = evidence.amplifier.description.network.plate_choke
    if choke is not None:
        if not choke.series_resonances:
            yield _resonance_unknown(evidence)
        for index, name, rows in evidence.bands():
            yield _reactance(evidence, name, rows, choke.inductance)
            if choke.series_resonances:
                yield _resonance(evidence, index, name, rows, choke.series_resonances)
    if evidence.amplifier.description.network.blocking_capacitor is None:
        for _, name, rows in evidence.bands():
            yield _antenna_dc(evidence, name, rows)
    if evidence.amplifier.description.network.output_choke is None:
        yield _no_output_choke(evidence)


def _reactance(evidence: Evidence, band: str, rows: Rows, inductance: float) -> Finding:
    frequency = float(evidence.frequency[rows].min())
    reactance, load = 2 * math.pi * frequency * inductance, evidence.assembly.stage.plate_load
    low = reactance < load
    return Finding(
        code="choke_reactance",
        state="close" if low else "pass",
        case="matched",
        band=band,
        frequency_hertz=frequency,
        part="plate_choke",
        quantity="reactance",
        value=reactance,
        limit=load,
        unit="ohm",
        used_fraction=load / reactance,
        message=f"plate choke: {format_quantity(reactance, 'ohm')} at {format_quantity(frequency, 'Hz')}, "
        f"plate load {format_quantity(load, 'ohm')}",
        why="2 pi f L at the band's lowest frequency; below the plate load the choke carries much of the RF",
        fix=f"{at_least(load / (2 * math.pi * frequency), 'H')} or more" if low else "",
        line=evidence.line("network", "plate_choke", "inductance"),
    )


def _resonance(
    evidence: Evidence, index: int, band: str, rows: Rows, resonances: tuple[float, ...]
) -> Finding:
    low, high = float(evidence.frequency[rows].min()), float(evidence.frequency[rows].max())

    def distance(resonance: float) -> float:
        """Zero inside the band, else relative to the nearer edge."""
        return max(0.0, (low - resonance) / low, (resonance - high) / high)

    nearest = min(resonances, key=distance)
    away = distance(nearest)
    state: State = "over" if away == 0 else "close" if away <= NEAR_RESONANCE else "pass"
    edge = low if nearest <= low else high
    where = "inside the band" if away == 0 else f"{away:.0%} outside the band"
    target = f"below {format_quantity(low * 0.9, 'Hz')} or above {format_quantity(high * 1.1, 'Hz')}"
    return Finding(
        code="choke_resonance",
        state=state,
        case="matched",
        band=band,
        frequency_hertz=min(max(nearest, low), high),
        part="plate_choke",
        quantity="resonance",
        value=nearest,
        limit=edge,
        unit="Hz",
        used_fraction=None,
        message=f"plate choke: series resonance at {format_quantity(nearest, 'Hz')}, {where}",
        why=f"at a series resonance the choke is a short piece of its own winding: high voltage inside it, heat, "
        f"loss of output; the band runs from {format_quantity(low, 'Hz')} to {format_quantity(high, 'Hz')}",
        fix=""
        if state == "pass"
        else f"move it {target}: other turns, or split the winding, then measure again",
        line=evidence.line("network", "plate_choke", "series_resonances", resonances.index(nearest)),
    )


def _resonance_unknown(evidence: Evidence) -> Finding:
    return _unjudged(
        evidence,
        "choke_resonance",
        "plate_choke",
        "resonance",
        "plate choke: its series resonances are not in the file, so not judged",
        "a series resonance inside a band burns the choke; it cannot be computed from the inductance",
        'measure with the ends shorted and add series_resonances = ["..."] under [network.plate_choke]',
        evidence.line("network", "plate_choke"),
    )


def _no_output_choke(evidence: Evidence) -> Finding:
    return _unjudged(
        evidence,
        "output_choke",
        "network",
        "presence",
        "no output choke: nothing holds the antenna at ground if the blocking capacitor fails",
        "a choke from antenna terminal to chassis lets a shorted blocking capacitor blow the fuse",
        "add [network.output_choke] with its inductance, for example 1 mH and more at 3.5 MHz",
        evidence.line("network"),
    )


def _unjudged(
    evidence: Evidence, code: str, part: str, quantity: str, message: str, why: str, fix: str, line: int
) -> Finding:
    """Make a finding about something that the file does not say or the amplifier does not have."""
    return Finding(
        code=code,
        state="not_rated",
        case="matched",
        band=None,
        frequency_hertz=None,
        part=part,
        quantity=quantity,
        value=None,
        limit=None,
        unit="Hz" if quantity == "resonance" else "1",
        used_fraction=None,
        message=message,
        why=why,
        fix=fix,
        line=line,
    )


def _antenna_dc(evidence: Evidence, band: str, rows: Rows) -> Finding:
    supply = evidence.assembly.stage.supply_voltage
    return Finding(
        code="antenna_dc",
        state="over",
        case="matched",
        band=band,
        frequency_hertz=float(evidence.frequency[rows[0]]),
        part="network",
        quantity="dc_voltage",
        value=supply,
        limit=0.0,
        unit="V",
        used_fraction=None,
        message=f"no blocking capacitor: {format_quantity(supply, 'V')} DC on coil, capacitors and antenna",
        why="the plate supply reaches everything behind the plate choke",
        fix="add [network.blocking_capacitor], rated "
        f"{format_quantity(2 * supply, 'V')} pk or more, about twice the supply",
        line=evidence.line("network"),
    )
