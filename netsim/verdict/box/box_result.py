"""From the solved box to its result."""

import math

import numpy as np

from netsim.circuit.box.input_network import COIL, SOURCE_CAPACITOR, TUBE_CAPACITOR
from netsim.verdict.box.cooling import cooling_of
from netsim.verdict.box.result import (
    ArcResult,
    BoxResult,
    FittingResult,
    InputPartStress,
    InputResult,
    MeterResult,
    SupplyResult,
)
from netsim.verdict.box.state import InputState, MeterState, SupplyState
from netsim.verdict.judged import number
from netsim.verdict.solved import Solved


def box_of(solved: Solved) -> BoxResult:
    """Return everything around the network that the file has a table of."""
    box = solved.box
    if box is None:
        return BoxResult(cooling=cooling_of(solved))
    return BoxResult(
        bias=box.bias,
        input=None if box.input is None else _input(solved, box.input),
        supply=None if box.supply is None else _supply(solved, box.supply),
        cooling=cooling_of(solved),
        meters=tuple(_meter(state) for state in box.meters) if solved.description.meters else None,
    )


def _input(solved: Solved, state: InputState) -> tuple[InputResult, ...]:
    found = []
    for _, band, rows in solved.bands():
        for row in rows[~np.isnan(state.swr[rows])]:
            impedance = state.parts.tube_impedance[row]
            pi = state.parts.coil[row] > 0
            found.append(
                InputResult(
                    band=band,
                    frequency_hertz=float(solved.frequency[row]),
                    drive_watt=float(state.drive_power[row]),
                    exciter_watt=float(state.exciter_power[row]),
                    tube_impedance_ohm=(float(impedance.real), float(impedance.imag)),
                    swr=float(state.swr[row]),
                    loaded_q=number(state.loaded_q[row]),
                    input_watt=float(state.input_power[row]),
                    coil_henry=float(state.parts.coil[row]) if pi else None,
                    source_capacitor_farad=float(state.parts.source_capacitor[row]) if pi else None,
                    tube_capacitor_farad=float(state.parts.tube_capacitor[row]) if pi else None,
                    designed=bool(state.designed[row]),
                    parts={
                        name: InputPartStress(float(volts[row]), float(amperes[row]))
                        for name, (volts, amperes) in state.stress.items()
                        if pi or name not in (COIL, SOURCE_CAPACITOR, TUBE_CAPACITOR)
                    },
                )
            )
    return tuple(found)


def _supply(solved: Solved, state: SupplyState) -> SupplyResult:
    circuit, described = state.circuit, solved.description.supply
    through, without = state.through_resistor, state.without_resistor
    assert described is not None
    return SupplyResult(
        no_load_volt=state.no_load_voltage,
        idle_volt=state.idle_voltage,
        full_load_volt=state.full_voltage,
        ripple_volt=state.full.ripple,
        secondary_rms_ampere=state.full.secondary_rms,
        secondary_peak_ampere=state.full.secondary_peak,
        inrush_peak_ampere=without.peak if through is None else through.peak,
        inrush_peak_without_ampere=without.peak,
        inrush_joule=None if through is None else through.joule,
        stored_joule=circuit.stored(state.no_load_voltage),
        bleeder_watt=state.bleeder_power if math.isfinite(circuit.bleeder) else None,
        discharge_second=state.discharge,
        discharge_bleeder_open_second=state.bleeder_open,
        arc=_arc(state, described.fuse_melting_integral),
        idle_current_ampere=state.idle_current,
        full_load_current_ampere=state.full_current,
        regulation=state.no_load_voltage / state.full_voltage - 1 if state.full_voltage > 0 else None,
        mains_watt=state.full.mains,
        winding_watt=state.full.winding,
        capacitor_volt=state.capacitor_voltage,
        bridging_peak_ampere=None if through is None else through.bridging_peak,
        inrush_second=None if through is None else through.bridged,
        touch_volt=described.touch_voltage,
        worst_relative=state.apart,
    )


def _arc(state: SupplyState, melting: float | None) -> ArcResult:
    """Tell an arc; where no resistance limits it, all of the stored energy but what the drop leaves is its own."""
    circuit, arc = state.circuit, state.arc
    drop = min(circuit.arc_voltage, state.no_load_voltage)
    if arc is None:
        joule = circuit.stored(state.no_load_voltage) - circuit.stored(drop)
        charge = circuit.capacitance * (state.no_load_voltage - drop)
        return ArcResult(None, 0.0, joule, None, 0.0, charge, None, None)
    return ArcResult(
        arc.peak,
        arc.glitch_joule,
        arc.tube_joule,
        arc.duration,
        arc.capacitor_joule,
        arc.charge,
        arc.integral,
        None if melting is None else arc.time_to(melting),
    )


def _meter(state: MeterState) -> MeterResult:
    meter = state.meter
    wanted = number(meter.resistance)
    current = state.arc_current
    movement = None if current is None or not meter.is_current else meter.movement_current(current)
    return MeterResult(
        reads=meter.reads,
        shunt_ohm=wanted if meter.is_current else None,
        multiplier_ohm=None if meter.is_current else wanted,
        fitted_ohm=meter.fitted,
        resistors_in_series=state.resistors_in_series,
        power_watt=number(meter.power),
        fitted_error=meter.fitted_error,
        preferred={name: FittingResult(fit.values, fit.error) for name, fit in meter.preferred.items()},
        shows_idle=None if state.idle is None else meter.shown(state.idle),
        shows_full=None if state.full is None else meter.shown(state.full),
        full_scale=meter.full_scale,
        arc_movement_ampere=movement,
        arc_shunt_volt=None if movement is None else movement * meter.movement_resistance,
    )
