"""The walk around the network: bias, drive, supply, meters, what an insulator costs."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from netsim.analysis.box.drive import drive_of
from netsim.analysis.box.supply import idle_of, supply_of
from netsim.analysis.networks import Engine, capacitor_settings
from netsim.circuit.assembly import heat_path
from netsim.circuit.box.heat_path import added_capacitance
from netsim.circuit.box.panel_meter import PanelMeter
from netsim.circuit.sections import loaded_q
from netsim.circuit.stage import ORDERS
from netsim.circuit.tube.bias import cathode_resistor, cathode_voltage
from netsim.circuit.tube.operating_state import idle_current
from netsim.circuit.tube.triode import TubeConstants
from netsim.solvers import batch, harmonic_balance
from netsim.solvers.supply import integration
from netsim.verdict.box.idle import IdlePoint, idle_point
from netsim.verdict.box.result import (
    STOP_ABOVE,
    BiasResult,
    CathodeResistorResult,
    DetuningResult,
    PowerUpResult,
    PowerUpStep,
    ZenerResult,
)
from netsim.verdict.box.state import Box, MeterState, SupplyState
from netsim.verdict.judged import number
from netsim.verdict.solved import Solved

_SUPPLY_STEPS = (0.25, 0.5, 0.75, 1.0)
_DRIVE_STEPS = (0.0, 0.5, 1.0)


def with_box(solved: Solved, engine: Engine, kept: Box | None = None) -> Solved:
    """Work out the box around the network.

    Parameters
    ----------
    solved : Solved
        Its networks at their settings.
    engine : {"both", "two-port"}
        Whether ngspice takes part.
    kept : Box, optional
        Whose supply and bias stay as solved, where nothing about them has changed.

    Returns
    -------
    Solved
        With what the file has tables of.

    Raises
    ------
    SolveError
        If an engine is missing or fails, or two computations differ.
    """
    description = solved.description
    row = reference_row(solved)
    tube = None if solved.tube_state is None else solved.tube_state.tube.single(row)
    supply = None if kept is None else kept.supply
    if description.supply is not None and supply is None:
        idle = None if tube is None else lambda volts: float(idle_current(tube, max(volts, 0.0))[0])
        supply = supply_of(description.supply, float(solved.current.direct[row]), idle, engine)
    idle_at, bias = idle_point(solved, supply), None if kept is None else kept.bias
    meters = tuple(_meter(solved, row, index, idle_at, supply) for index in range(len(description.meters)))
    if bias is None and description.bias is not None and tube is not None and idle_at is not None:
        bias = _bias(solved, row, tube, supply, idle_at, meters)
    box = Box(bias, drive_of(solved, engine), supply, meters, _detuning(solved))
    return replace(solved, box=box)


def reference_row(solved: Solved) -> int:
    """Return the network of the stage as it stands that draws most plate current, of those in tune if any is."""
    rows = np.flatnonzero(solved.assembly.point_index == 0)
    tuned = rows[solved.tuned[rows]]
    rows = tuned if tuned.size else rows
    return int(rows[np.argmax(solved.current.direct[rows])])


def no_load_voltage(solved: Solved, supply: SupplyState | None) -> float:
    """Return the plate voltage without load [V]: solved, or as the stage has it."""
    return supply.no_load_voltage if supply else solved.description.stage.highest_plate_voltage


def _bias(
    solved: Solved,
    row: int,
    tube: TubeConstants,
    supply: SupplyState | None,
    idle_at: IdlePoint,
    meters: tuple[MeterState, ...],
) -> BiasResult:
    state, stage = solved.tube_state, solved.description.stage
    assert state is not None
    highest = no_load_voltage(solved, supply)
    at_point = solved.assembly.point_index == 0
    cathode = float(state.balance.cathode_current_dc[at_point].max())

    def drawn(voltage: float) -> float:
        return float(idle_current(tube, max(voltage, 0.0))[0])

    def drawn_with_resistor(voltage: float) -> float:
        return float(cathode_resistor(tube, voltage, cathode).idle_current[0])

    points = [_idling(share, highest, supply, drawn) for share in _SUPPLY_STEPS[:-1]] + [idle_at]
    supply_steps = tuple(
        _step(meters, share, point.voltage, *_without_drive(solved, point))
        for share, point in zip(_SUPPLY_STEPS, points, strict=True)
    )
    drive_steps = _driven(solved, row, tube, idle_at, meters)
    held, zener, resistor = cathode_voltage(tube, cathode), None, None
    if np.isfinite(held.voltage).all():
        start = idle_at.voltage if supply is None else highest
        rest = _idling(1.0, start, supply, drawn_with_resistor).voltage
        found = cathode_resistor(tube, rest, cathode)
        zener = ZenerResult(*(float(values[0]) for values in vars(held).values()))
        resistor = CathodeResistorResult(*(float(values[0]) for values in vars(found).values()))
    return BiasResult(
        bias_volt=float(np.asarray(tube.bias_voltage).item()),
        idle_current_ampere=idle_at.current,
        idle_dissipation_watt=idle_at.dissipation,
        idle_plate_volt=idle_at.voltage,
        cathode_current_ampere=cathode,
        zener=zener,
        cathode_resistor=resistor,
        no_load_idle_current_ampere=drawn(highest),
        no_load_idle_dissipation_watt=highest * drawn(highest),
        power_up=PowerUpResult(
            solved.description.bands[int(solved.assembly.band_index[row])].name,
            supply_steps,
            drive_steps,
            {
                "plate_dissipation_watt": stage.dissipation_rating,
                "grid_current_ampere": stage.grid_current_rating,
                "grid_dissipation_watt": stage.grid_dissipation_rating,
                "plate_current_ampere": STOP_ABOVE
                * max(step.plate_current_ampere for step in (*supply_steps, *drive_steps)),
            },
        ),
    )


def _step(
    meters: tuple[MeterState, ...],
    fraction: float,
    volts: float,
    current: float,
    grid: float | None,
    heat: float,
    output: float,
) -> PowerUpStep:
    """Tell a step of the first power-up, with what each meter then shows."""
    true = {"plate current": current, "grid current": grid, "plate voltage": volts, "output": output}
    shows = {
        state.name: state.meter.shown(value)
        for state in meters
        if (value := true[state.meter.reads]) is not None
    }
    return PowerUpStep(fraction, volts, current, grid, heat, output, shows)


def _idling(
    share: float, highest: float, supply: SupplyState | None, drawn: Callable[[float], float]
) -> IdlePoint:
    """Find where the tube idles at a share of the mains' voltage; a supply is linear but for what is drawn of it."""
    if supply is None or supply.idle is None:
        return IdlePoint(share * highest, drawn(share * highest))
    circuit = replace(supply.circuit, peak=share * supply.circuit.peak)
    found, current = idle_of(circuit, integration.steady(circuit, 0.0), drawn)
    return IdlePoint(supply.at_plate(found, current), current)


def _without_drive(solved: Solved, idle: IdlePoint) -> tuple[float, float | None, float, float]:
    """Plate current, grid current, heat of the plate, output: a negative grid takes nothing."""
    assert solved.tube_state is not None
    tube = solved.tube_state.tube
    bias = float(np.asarray(tube.bias_voltage).flat[0])
    grid = 0.0 if tube.grid_perveance is not None and bias <= 0 else None
    return idle.current, grid, idle.dissipation, 0.0


def _driven(
    solved: Solved, row: int, tube: TubeConstants, idle: IdlePoint, meters: tuple[MeterState, ...]
) -> tuple[PowerUpStep, ...]:
    """Settle the tube at each share of full drive, settings as they are, at the plate voltage under load."""
    volts = float(solved.assembly.stage.plate_voltage[row])
    orders = np.arange(1.0, harmonic_balance.ORDERS + 1)
    impedance = batch.solve(solved.ladder.take(slice(row, row + 1)), orders).plate_impedance
    found = [_step(meters, 0.0, idle.voltage, *_without_drive(solved, idle))]
    for share in _DRIVE_STEPS[1:]:
        driven = replace(tube, drive_voltage_peak=tube.drive_voltage_peak * share)
        balance = harmonic_balance.solve(impedance, driven, volts).require_converged()
        power = np.abs(balance.plate_current[0, :ORDERS][0]) ** 2 * solved.plate_impedance[row].real / 2
        grid = balance.grid_current_dc
        found.append(
            _step(
                meters,
                share,
                volts,
                float(balance.plate_current_dc[0]),
                None if grid is None else float(grid[0]),
                float(balance.plate_dissipation[0]),
                float(solved.efficiency[row] * power),
            )
        )
    return tuple(found)


def _meter(
    solved: Solved, row: int, index: int, idle_at: IdlePoint | None, supply: SupplyState | None
) -> MeterState:
    described = solved.description.meters[index]
    current = described.reads in ("plate current", "grid current")
    meter = PanelMeter(
        reads=described.reads,
        movement=described.movement,
        movement_resistance=described.movement_resistance,
        full_scale=described.full_scale,
        fitted=described.shunt if current else described.multiplier,
        voltage_rating=described.resistor_voltage_rating,
        antenna_resistance=solved.description.antenna.resistance,
    )
    stage, state = solved.assembly.stage, solved.tube_state
    idle: float | None
    full: float | None
    highest: float | None
    match described.reads:
        case "plate current":
            idle = None if idle_at is None else idle_at.current
            full, highest = float(solved.current.direct[row]), float(solved.current.direct.max())
        case "grid current":
            grid = None if state is None else state.balance.grid_current_dc
            idle = None if grid is None else 0.0
            full, highest = (None, None) if grid is None else (float(grid[row]), float(grid.max()))
        case "plate voltage":
            highest = no_load_voltage(solved, supply)
            idle = highest if idle_at is None else idle_at.voltage
            full = float(stage.plate_voltage[row]) if supply is None else supply.full_voltage
        case "output":
            idle, full = 0.0, float(solved.output_power[row])
            highest = float(solved.output_power.max())
    arc = None if supply is None or supply.arc is None else supply.arc.peak
    before = solved.description.meters[:index]
    twin = sum(other.reads == described.reads for other in before)
    return MeterState(meter, index, twin, idle, full, highest, arc if current else None)


def _detuning(solved: Solved) -> DetuningResult | None:
    """Tune the highest network again without what the insulator adds."""
    added = added_capacitance(heat_path(solved.description))
    if added == 0:
        return None
    rows = np.flatnonzero(solved.assembly.point_index == 0)
    row = int(rows[np.argmax(solved.frequency[rows])])
    single = solved.assembly.take(np.array([row]))
    bare = replace(single.parts, output_capacitance=single.parts.output_capacitance - added)
    settings = capacitor_settings(replace(single, parts=bare))
    return DetuningResult(
        band=solved.description.bands[int(solved.assembly.band_index[row])].name,
        frequency_hertz=float(solved.frequency[row]),
        loaded_q=float(solved.loaded_q[row]),
        loaded_q_without=float(loaded_q(bare, settings.tune)[0]),
        tune_needed_farad=number(solved.settings.tune_needed[row]),
        tune_needed_without_farad=number(settings.tune_needed[0]),
    )
