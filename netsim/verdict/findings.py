"""All findings of an amplifier, worst first, and the result they belong to."""

import math

import numpy as np

from . import feed, limits, ratings, reach
from .assumptions import assumptions
from .evidence import Evidence
from .judgement import number
from .result import (
    PART_NAMES,
    SCHEMA_VERSION,
    Agreement,
    BandResult,
    Finding,
    Harmonic,
    PartStress,
    Point,
    Provenance,
    Result,
    StageResult,
    State,
)

STATES: tuple[State, ...] = ("over", "close", "not_rated", "pass")


def all_findings(evidence: Evidence) -> tuple[Finding, ...]:
    """Collect every finding, ordered by state and then by how far the limit is used.

    Returns
    -------
    tuple of Finding
        Over first; within a state what has no fraction first, then the highest fraction.
    """
    found = [f for source in (ratings, limits, reach, feed) for f in source.findings(evidence)]
    return tuple(sorted(found, key=_severity))


def _severity(finding: Finding) -> tuple[int, float]:
    used = math.inf if finding.used_fraction is None else finding.used_fraction
    return STATES.index(finding.state), -used


def result(evidence: Evidence, worst_relative: np.ndarray | None, provenance: Provenance) -> Result:
    """Put everything known into one object.

    Parameters
    ----------
    evidence : Evidence
        Of all networks.
    worst_relative : ndarray or None
        Difference between the solvers, shape ``(networks,)``; None if only one ran.
    provenance : Provenance
        What made the result.
    """
    description, stage = evidence.description, evidence.assembly.stage
    findings = all_findings(evidence)
    bands = tuple(
        BandResult(name, tuple(_point(evidence, int(row), worst_relative) for row in rows))
        for _, name, rows in evidence.bands()
    )
    return Result(
        schema_version=SCHEMA_VERSION,
        title=description.amplifier.title,
        topology=description.amplifier.network.topology,
        stage=StageResult(
            stage.plate_load,
            stage.fundamental_current_peak,
            stage.plate_power,
            stage.input_power,
            tuple(float(share) for share in stage.spectrum),
        ),
        bands=bands,
        findings=findings,
        counts={state: sum(f.state == state for f in findings) for state in STATES},
        assumptions=tuple(assumptions(description)),
        cross_checked=worst_relative is not None,
        provenance=provenance,
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
    )


def _part(evidence: Evidence, name: str, row: int) -> PartStress | None:
    stress = evidence.stress.get(name)
    switchless = name == "band_switch" and evidence.description.amplifier.network.band_switch is None
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
