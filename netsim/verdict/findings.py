"""All findings of an amplifier, worst first, and the result they belong to."""

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from netsim.verdict import coil_assumptions, coil_loops, coils, feed, limits, ratings
from netsim.verdict import tuning_range as reach
from netsim.verdict.assumptions import assumptions
from netsim.verdict.judgement import number
from netsim.verdict.result import (
    PART_NAMES,
    SCHEMA_VERSION,
    Agreement,
    BandResult,
    Finding,
    Harmonic,
    LargeSignalResult,
    OperatingPointResult,
    PartStress,
    Point,
    Provenance,
    Result,
    StageResult,
    State,
)
from netsim.verdict.solved import Evidence

_WHATEVER_THE_STAGE = ("choke_resonance", "self_resonance", "tube_wall")
STATES: tuple[State, ...] = ("over", "close", "not_rated", "pass")


Judged = tuple[Evidence, np.ndarray | None]
"""What solving brought to light, and how far the solvers are apart; None if only one ran."""


def all_findings(evidence: Evidence, *others: Evidence) -> tuple[Finding, ...]:
    """Collect every finding, ordered by state and then by how far the limit is used.

    Parameters
    ----------
    evidence : Evidence
        At the stage as it stands in the file.
    *others : Evidence
        At other operating points.

    Returns
    -------
    tuple of Finding
        Over first; within a state what has no fraction first, then the highest fraction. What no
        operating point changes (a missing rating, a resonance of the choke) is told once.
    """
    found = _found(evidence)
    for other in others:
        found += [f for f in _found(other) if f.band is not None and f.code not in _WHATEVER_THE_STAGE]
    return tuple(sorted(found, key=_severity))


def _found(evidence: Evidence) -> list[Finding]:
    found = [f for source in (ratings, limits, reach, feed, coils) for f in source.findings(evidence)]
    if evidence.full_output is not None:
        # Imported here: most files ask for nothing of it.
        from netsim.verdict import antenna_findings, tuning_findings

        found += [f for source in (tuning_findings, antenna_findings) for f in source.findings(evidence)]
    point = evidence.operating_point
    return found if point is None else [dataclasses.replace(f, operating_point=point) for f in found]


def _severity(finding: Finding) -> tuple[int, float]:
    used = math.inf if finding.used_fraction is None else finding.used_fraction
    return STATES.index(finding.state), -used


def result(base: Judged, others: Sequence[Judged], provenance: Provenance) -> Result:
    """Put everything known into one object.

    Parameters
    ----------
    base : Evidence and ndarray or None
        Of all networks at the file's own stage, with the difference between the solvers, shape
        ``(networks,)``.
    others : sequence of the same
        At other operating points.
    provenance : Provenance
        What made the result.
    """
    evidence, apart = base
    amplifier = evidence.amplifier
    findings = all_findings(evidence, *(other for other, _ in others))
    return Result(
        schema_version=SCHEMA_VERSION,
        title=amplifier.description.title,
        topology=amplifier.description.network.topology,
        stage=_stage(evidence),
        bands=_bands(evidence, apart),
        findings=findings,
        counts={state: sum(f.state == state for f in findings) for state in STATES},
        assumptions=(*assumptions(amplifier), *coil_assumptions.assumptions(evidence)),
        cross_checked=apart is not None,
        provenance=provenance,
        operating_points=tuple(
            OperatingPointResult(other.operating_point or "", _stage(other), _bands(other, difference))
            for other, difference in others
        ),
    )


def _stage(evidence: Evidence) -> StageResult:
    stage = evidence.assembly.stage
    return StageResult(
        stage.plate_load,
        stage.fundamental_current_peak,
        stage.plate_power,
        stage.input_power,
        tuple(float(share) for share in stage.spectrum),
    )


def _bands(evidence: Evidence, worst_relative: np.ndarray | None) -> tuple[BandResult, ...]:
    return tuple(
        BandResult(name, tuple(_point(evidence, int(row), worst_relative) for row in rows))
        for _, name, rows in evidence.bands()
    )


def _point(evidence: Evidence, row: int, worst_relative: np.ndarray | None) -> Point:
    parts, settings = evidence.assembly.parts, evidence.settings
    impedance = evidence.plate_impedance[row]
    return Point(
        frequency_hertz=float(evidence.frequency[row]),
        tuned=bool(evidence.tuned[row]),
        plate_impedance_ohm=(float(impedance.real), float(impedance.imag)),
        tune_farad=float(settings.tune[row]),
        load_farad=float(settings.load[row]),
        tune_needed_farad=number(settings.tune_needed[row]),
        load_needed_farad=number(settings.load_needed[row]),
        coil_henry=float(parts.coil[row]),
        output_coil_henry=float(parts.output_coil[row]) if parts.topology == "pi-L" else None,
        loaded_q=float(evidence.loaded_q[row]),
        stored_energy_q=float(evidence.stored_energy_q[row]),
        efficiency=float(evidence.efficiency[row]),
        output_watt=float(evidence.output_power[row]),
        plate_dissipation_watt=float(evidence.plate_dissipation[row]),
        harmonics=tuple(
            Harmonic(n + 1, float(evidence.attenuation[row, n]), number(evidence.level[row, n]))
            for n in range(1, evidence.level.shape[1])
        ),
        parts={name: _part(evidence, name, row) for name in PART_NAMES},
        agreement=Agreement(None if worst_relative is None else float(worst_relative[row])),
        **_wound(evidence, "coil", row),
        **_wound(evidence, "output_coil", row),
        large_signal=_large_signal(evidence, row),
    )


def _large_signal(evidence: Evidence, row: int) -> LargeSignalResult | None:
    found = None if evidence.full_output is None else evidence.full_output.large_signal
    if found is None:
        return None
    balance = found.balance
    return LargeSignalResult(
        plate_current_dc_ampere=float(balance.plate_current_dc[row]),
        grid_current_dc_ampere=float(balance.grid_current_dc[row]),
        output_watt=float(found.output_power[row]),
        drive_watt=float(balance.drive_power[row]),
        feed_through_watt=float(found.feed_through_power[row]),
        plate_dissipation_watt=float(balance.plate_dissipation[row]),
        grid_dissipation_watt=float(balance.grid_dissipation[row]),
        efficiency=float(found.efficiency[row]),
        conduction_angle_degree=math.degrees(found.conduction_angle[row]),
        plate_voltage_minimum_volt=float(balance.plate_wave[row].min()),
        input_resistance_ohm=number(found.input_resistance[row]),
        harmonics=tuple(
            Harmonic(n + 1, float(found.attenuation[row, n]), number(found.level[row, n]))
            for n in range(1, found.level.shape[1])
        ),
        worst_difference_to_spice_db=None if found.difference is None else number(found.difference[row]),
    )


def _wound(evidence: Evidence, name: str, row: int) -> dict[str, Any]:
    """Give what a point says of a coil that is wound; nothing of one given by its inductance."""
    wound = evidence.assembly.wound[name]
    if wound is None or row not in wound.rows:
        return {}
    stress = evidence.stress[name]
    return {
        f"{name}_turns": float(wound.spread(wound.tapped.turns)[row]),
        f"{name}_q": float(wound.spread(wound.tapped.q)[row]),
        f"{name}_loops": coil_loops.loops(wound, stress, row),
        f"{name}_free_end_voltage_peak_volt": coil_loops.free_end_voltage(wound, stress, row),
    }


def _part(evidence: Evidence, name: str, row: int) -> PartStress | None:
    stress = evidence.stress.get(name)
    switchless = name == "band_switch" and evidence.amplifier.description.network.band_switch is None
    if stress is None or switchless or not stress.present[row]:
        return None
    return PartStress(
        float(stress.voltage_peak[row]),
        float(stress.rf_voltage_peak[row]),
        float(stress.unloaded_voltage_peak[row]),
        float(stress.current_rms[row]),
        float(stress.loss[row]),
        number(stress.reactive_power[row]),
    )
