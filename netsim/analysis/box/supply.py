"""The plate supply, solved twice: without load, at idle, at full output, at switch-on, discharged, in an arc."""

import math
from collections.abc import Callable

from netsim.analysis.networks import Engine
from netsim.circuit.box.plate_supply import PlateSupply
from netsim.description.models.box import Supply
from netsim.errors import DisagreementError, Problem
from netsim.solvers.supply import integration
from netsim.solvers.supply.waves import Steady
from netsim.verdict.box.state import SupplyState

APART = 0.02
"""Largest relative difference between ngspice and the integration that is still believed."""

_STEPS = 6
_SETTLED = 1e-5


def plate_supply(described: Supply) -> PlateSupply:
    """Return the described supply as numbers, everything seen at the secondary."""
    count = round(described.capacitors_in_series)
    inrush = 0.0
    if described.inrush_resistor is not None and described.turns_ratio is not None:
        inrush = described.inrush_resistor * described.turns_ratio**2
    equalizing = described.equalizing_resistance
    return PlateSupply(
        frequency=described.mains_frequency,
        peak=math.sqrt(2) * described.secondary_voltage,
        resistance=described.secondary_resistance,
        rectifier=described.rectifier,
        capacitance=described.capacitance / count,
        capacitors=count,
        bleeder=math.inf if described.bleeder is None else described.bleeder,
        equalizer=math.inf if equalizing is None else equalizing * count,
        inrush=inrush,
        inrush_time=described.inrush_time,
        glitch=described.glitch_resistor or 0.0,
        capacitor_resistance=described.capacitor_resistance or 0.0,
        arc_voltage=described.arc_voltage,
    )


def supply_of(
    described: Supply, full_current: float, idle_current: Callable[[float], float] | None, engine: Engine
) -> SupplyState:
    """Solve a supply.

    Parameters
    ----------
    described : Supply
        Of the file.
    full_current : float
        DC plate current at full output [A].
    idle_current : callable or None
        Gives the plate current without drive [A] at a plate voltage [V]; None where no tube tells it.
    engine : {"both", "two-port"}
        Whether ngspice takes part.

    Raises
    ------
    DisagreementError
        If ngspice and the integration differ by more than 2 %.
    EngineMissingError, EngineFailedError
        If ngspice cannot be had.

    Notes
    -----
    A load draws its current whatever the ripple. At idle, current and voltage are found together by secants.
    """
    circuit = plate_supply(described)
    no_load, full = integration.steady(circuit, 0.0), integration.steady(circuit, full_current)
    idle, current = (None, None) if idle_current is None else idle_of(circuit, no_load, idle_current)
    through = integration.switch_on(circuit, through_resistor=True) if circuit.inrush else None
    without = integration.switch_on(circuit, through_resistor=False)
    touch = described.touch_voltage
    across = 1 / circuit.conductance if circuit.conductance else math.inf
    times = [
        None if touch is None else integration.discharge(circuit, no_load.mean, resistance, touch)
        for resistance in (across, circuit.equalizer)
    ]
    arcs = circuit.arc_resistance > 0 and no_load.mean > circuit.arc_voltage
    arc = integration.arc(circuit, no_load.mean) if arcs else None
    state = SupplyState(
        circuit=circuit,
        no_load=no_load,
        idle=idle,
        full=full,
        idle_current=current,
        full_current=full_current,
        through_resistor=through,
        without_resistor=without,
        discharge=times[0],
        bleeder_open=times[1],
        arc=arc,
        apart=None,
    )
    return state if engine != "both" else _checked(state, touch, across)


def idle_of(
    circuit: PlateSupply, no_load: Steady, idle_current: Callable[[float], float]
) -> tuple[Steady, float]:
    """Find the current that the tube draws at the voltage that the supply has at it.

    Parameters
    ----------
    circuit : PlateSupply
    no_load : Steady
        Of it, without a tube's current.
    idle_current : callable
        Gives the plate current without drive [A] at a plate voltage [V].

    Returns
    -------
    Steady, float
        Of the supply, and the current [A]; the glitch resistor's drop comes off the voltage.
    """
    current, found = idle_current(no_load.mean), no_load
    slope = 0.0  # of what the tube draws, in what the supply gives
    for _ in range(_STEPS):
        found = integration.steady(circuit, current)
        drawn = idle_current(found.mean - current * circuit.glitch)
        if abs(drawn - current) <= _SETTLED * max(drawn, current):
            break
        last = current
        current = max(current + (drawn - current) / (1 - slope), 0.0)
        if current == last:
            break
        again = integration.steady(circuit, current)
        slope = (idle_current(again.mean - current * circuit.glitch) - drawn) / (current - last)
        found = again
    return found, current


def _checked(state: SupplyState, touch: float | None, across: float) -> SupplyState:
    """Solve the same in ngspice, and note how far the two are apart."""
    from netsim.solvers.supply import over_time

    circuit = state.circuit
    apart = []
    loads = 0.0, state.idle_current, state.full_current
    for load, expected in zip(loads, (state.no_load, state.idle, state.full), strict=True):
        if load is not None and expected is not None and (load or circuit.conductance):
            found = over_time.steady(circuit, load, expected.start)
            apart += _apart(expected, found, "mean", "highest", "ripple", scale=expected.highest)
            apart += _apart(expected, found, "secondary_rms", "secondary_peak", "mains", "winding")
    through, without = state.through_resistor, state.without_resistor
    apart.append(_relative(without.peak, over_time.switch_on(circuit, None).peak))
    if through is not None and through.bridged <= through.time[-1]:
        again = over_time.switch_on(circuit, through.bridged)
        apart += _apart(through, again, "peak", "joule", "charged")
    start = state.no_load.mean
    for seconds, resistance in ((state.discharge, across), (state.bleeder_open, circuit.equalizer)):
        if seconds and touch is not None:
            apart.append(_relative(seconds, over_time.discharge(circuit, start, resistance, touch)))
    if state.arc is not None:
        apart += _apart(state.arc, over_time.arc(circuit, start), "peak", "charge", "integral", "duration")
    worst = max(apart)
    if not worst <= APART:
        raise DisagreementError(
            Problem(
                "disagreement",
                f"ngspice and the integration of the plate supply differ by {worst:.2g}, more than {APART:g}: neither "
                "is to be believed; please report this with the file",
            )
        )
    return SupplyState(**{**vars(state), "apart": worst})


def _relative(one: float, other: float, scale: float = 0.0) -> float:
    return abs(one - other) / max(abs(one), abs(other), scale, 1e-300)


def _apart(one: object, other: object, *names: str, scale: float = 0.0) -> list[float]:
    return [_relative(getattr(one, name), getattr(other, name), scale) for name in names]
