"""The points of the result: what each network does, as plain numbers."""

import math
from typing import Any

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.verdict.box.idle import idle_point
from netsim.verdict.judged import number
from netsim.verdict.losses import losses, losses_of_band
from netsim.verdict.result import (
    PART_NAMES,
    Agreement,
    BandResult,
    CurvePointMiss,
    Harmonic,
    LargeSignalResult,
    PartStress,
    Point,
    StageResult,
    TubeResult,
)
from netsim.verdict.solved import Solved
from netsim.verdict.spread import Spreads
from netsim.verdict.wound_coils import free_end_voltage, loops


def stage_of(solved: Solved, point: int) -> StageResult:
    """Return the nominal stage of an operating point."""
    stage = solved.assembly.stage
    row = int(np.flatnonzero(solved.assembly.point_index == point)[0])
    return StageResult(
        float(stage.plate_load[row]),
        float(stage.fundamental_current_peak[row]),
        float(stage.plate_power[row]),
        float(stage.input_power[row]),
        tuple(float(share) for share in stage.spectrum[row]),
    )


def bands_of(
    solved: Solved, point: int, worst_relative: FloatArray | None, spreads: Spreads
) -> tuple[BandResult, ...]:
    """Return all points of the bands of an operating point, and where the power goes."""
    watts, found = losses(solved), []
    for _, name, rows in solved.bands(point):
        points = tuple(_point(solved, int(row), worst_relative) for row in rows)
        least = int(rows[np.argmin(solved.output_power[rows])])
        sampled = {place: values[least] for place, values in spreads.losses.items()}
        table = losses_of_band(solved, least, watts, sampled)
        found.append(BandResult(name, points, float(solved.frequency[least]), table))
    return tuple(found)


def _point(solved: Solved, row: int, worst_relative: FloatArray | None) -> Point:
    parts, settings = solved.assembly.parts, solved.settings
    impedance = solved.plate_impedance[row]
    return Point(
        frequency_hertz=float(solved.frequency[row]),
        tuned=bool(solved.tuned[row]),
        plate_impedance_ohm=(float(impedance.real), float(impedance.imag)),
        tune_farad=float(settings.tune[row]),
        load_farad=float(settings.load[row]),
        tune_needed_farad=number(settings.tune_needed[row]),
        load_needed_farad=number(settings.load_needed[row]),
        coil_henry=float(parts.coil[row]),
        output_coil_henry=float(parts.output_coil[row]) if parts.topology == "pi-L" else None,
        loaded_q=float(solved.loaded_q[row]),
        stored_energy_q=float(solved.stored_energy_q[row]),
        efficiency=float(solved.efficiency[row]),
        output_watt=float(solved.output_power[row]),
        plate_dissipation_watt=float(solved.current.dissipation[row]),
        harmonics=_harmonics(solved, row),
        parts={name: _part(solved, name, row) for name in PART_NAMES},
        agreement=Agreement(None if worst_relative is None else float(worst_relative[row])),
        **_wound(solved, "coil", row),
        **_wound(solved, "output_coil", row),
        large_signal=_large_signal(solved, row),
    )


def _large_signal(solved: Solved, row: int) -> LargeSignalResult | None:
    found = solved.tube_state
    if found is None:
        return None
    balance = found.balance
    return LargeSignalResult(
        plate_current_dc_ampere=float(balance.plate_current_dc[row]),
        grid_current_dc_ampere=_known(balance.grid_current_dc, row),
        output_watt=float(solved.output_power[row]),
        drive_watt=_known(balance.drive_power, row),
        feed_through_watt=float(balance.feed_through_power[row]),
        plate_dissipation_watt=float(balance.plate_dissipation[row]),
        grid_dissipation_watt=_known(balance.grid_dissipation, row),
        efficiency=float(solved.output_power[row] / balance.input_power[row]),
        conduction_angle_degree=math.degrees(found.conduction_angle[row]),
        plate_voltage_minimum_volt=float(balance.plate_voltage_minimum[row]),
        input_resistance_ohm=_known(found.input_resistance, row),
        harmonics=_harmonics(solved, row),
        worst_difference_to_spice_db=None if found.difference is None else number(found.difference[row]),
    )


def _harmonics(solved: Solved, row: int) -> tuple[Harmonic, ...]:
    unknown = solved.unknown_orders[row]
    return tuple(
        Harmonic(n + 1, number(solved.attenuation[row, n]), number(solved.level[row, n]), bool(unknown[n]))
        for n in range(1, solved.level.shape[1])
    )


def _known(values: FloatArray | None, row: int) -> float | None:
    return None if values is None else number(values[row])


def _wound(solved: Solved, name: str, row: int) -> dict[str, Any]:
    """Give what a point says of a coil that is wound; nothing of one given by its inductance."""
    wound = solved.assembly.wound[name]
    if wound is None or row not in wound.rows:
        return {}
    stress = solved.stress[name]
    return {
        f"{name}_turns": float(wound.spread(wound.tapped.turns)[row]),
        f"{name}_q": float(wound.spread(wound.tapped.q)[row]),
        f"{name}_loops": loops(wound, stress, row),
        f"{name}_free_end_voltage_peak_volt": free_end_voltage(wound, stress, row),
    }


def _part(solved: Solved, name: str, row: int) -> PartStress | None:
    stress = solved.stress.get(name)
    switchless = name == "band_switch" and solved.description.network.band_switch is None
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


def tube_of(solved: Solved) -> TubeResult | None:
    """Return the tube as it was solved at the stage as it stands; None where the pulse stands for it."""
    state = solved.tube_state
    if state is None:
        return None
    tube, fit = state.tube.single(0), state.fit
    worst = None
    if fit is not None and solved.description.tube is not None:
        plate, grid, current = solved.description.tube.curve_points[fit.worst][:3]
        worst = CurvePointMiss(fit.worst, plate, grid, current, number(fit.worst_miss))
    idle = idle_point(solved)
    assert idle is not None
    names = ("amplification_factor", "perveance", "knee_voltage", "grid_perveance")
    constants = {name: getattr(tube, name) for name in names}
    return TubeResult(
        bias_volt=float(np.asarray(tube.bias_voltage).item()),
        drive_volt_peak=float(np.asarray(tube.drive_voltage_peak).item()),
        idle_current_ampere=idle.current,
        constants={k: None if v is None else float(np.asarray(v).item()) for k, v in constants.items()},
        residual_rms=None if fit is None else float(fit.residual),
        worst_point=worst,
    )
