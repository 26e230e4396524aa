"""The plate supply by integration of its differential equations (scipy's ``solve_ivp``)."""

import math
from collections.abc import Callable, Sequence

import numpy as np

from netsim.circuit.box.plate_supply import HANDLED, PlateSupply
from netsim.circuit.elements import FloatArray
from netsim.solvers.supply.waves import ARC_SPAN, Arc, Steady, SwitchOn

MOST_CYCLES = 400
"""Of the mains after switching on; what is not charged by then goes on at its last rate."""

_STEPS, _COARSE = 200, 40  # of a period, at least; the second while the capacitors charge
_SAMPLES = 100  # of a period, that are kept of charging
_TOGETHER = 10  # periods between two looks whether the capacitors are charged
_FINE = 2000  # samples of a period for peaks
_RELATIVE = 1e-8
_RISE = 1e-4  # of the voltage in a period, below which the capacitors count as charged
_MORE_CYCLES = 3  # after the resistor is bridged

State = FloatArray
Slope = Callable[[float, State], list[float]]


def steady(supply: PlateSupply, load: float) -> Steady:
    """Return the periodic state at a load that draws a constant current.

    Parameters
    ----------
    supply : PlateSupply
    load : float
        [A].

    Notes
    -----
    ``C dv/dt = i - I - G v`` with ``i = max(|e| - v, 0) / R``; a doubler has two such halves of ``2 C``, one for each
    sign of e. The state at a zero of e that half a period later is the same again (in a doubler with its halves
    exchanged) is found by Newton's method on the integrated half period.
    """
    from scipy.optimize import root

    groups = 2 if supply.rectifier == "doubler" else 1
    if load == 0 and supply.conductance == 0:
        start = (supply.peak,) * groups
        return Steady(supply.highest, supply.highest, 0.0, 0.0, 0.0, 0.0, 0.0, start)
    slope = _slope(supply, load, supply.resistance, 0.0)

    def surplus(start: FloatArray) -> FloatArray:
        end = _run(supply, slope, 0.0, supply.period / 2, _augmented(start))[1][:groups, -1]
        return np.asarray(end[::-1] - start)

    guess = np.full(groups, _guess(supply, load))
    found = root(surplus, guess, method="hybr", options={"eps": 1e-5, "xtol": 1e-9})
    time, state = _run(supply, slope, 0.0, supply.period, _augmented(found.x), _FINE)
    voltage = state[:groups].sum(axis=0)
    current = _current(supply, time, state[:groups], supply.resistance, 0.0)
    charge, square, mains = (float(value) for value in state[groups:, -1])
    halves = 0.5 if supply.rectifier == "full-wave" else 1.0
    period = supply.period
    return Steady(
        mean=charge / period,
        highest=float(voltage.max()),
        ripple=float(np.ptp(voltage)),
        secondary_rms=math.sqrt(halves * square / period),
        secondary_peak=float(current.max()),
        mains=mains / period,
        winding=square * supply.resistance / period,
        start=tuple(float(v) for v in found.x),
    )


def switch_on(supply: PlateSupply, *, through_resistor: bool) -> SwitchOn:
    """Return what happens from empty capacitors on, switched on at the crest of the mains, without a tube's load.

    Parameters
    ----------
    supply : PlateSupply
    through_resistor : bool
        Whether the inrush resistor is in; it is bridged at its time, or once the capacitors are charged.

    Notes
    -----
    The crest is the worst instant for a transformer without inductance: the current begins at ``e / R``.
    """
    quarter = math.pi / 2
    before = supply.resistance + (supply.inrush if through_resistor else 0.0)
    timed = supply.inrush_time if through_resistor else None
    last = MOST_CYCLES * supply.period if timed is None else min(timed, MOST_CYCLES * supply.period)
    slope = _slope(supply, 0.0, before, quarter)
    groups = 2 if supply.rectifier == "doubler" else 1
    times, states = [np.zeros(1)], [np.array(_augmented(np.zeros(groups)))[:, np.newaxis]]
    settled = False
    while times[-1][-1] < last * (1 - 1e-12) and not settled:
        begin = float(times[-1][-1])
        cycles = min(_TOGETHER, max(1, math.ceil((last - begin) / supply.period * (1 - 1e-9))))
        end = min(begin + cycles * supply.period, last)
        time, state = _run(supply, slope, begin, end, states[-1][:, -1].tolist(), cycles * _SAMPLES, _COARSE)
        times.append(time[1:])
        states.append(state[:, 1:])
        settled = cycles == _TOGETHER and _rise(state[:groups]) < _RISE * supply.highest
    bridged = float(times[-1][-1])
    time, state = np.concatenate(times), np.concatenate(states, axis=1)
    square = state[groups + 1]
    heat = float(square[-1])
    if timed is not None and timed > bridged:  # the rest at the rate of the last period
        heat += float(square[-1] - square[-1 - _SAMPLES]) * (timed - bridged) / supply.period
    bridging = None
    current = _current(supply, time, state[:groups], before, quarter)
    voltage, peak = state[:groups].sum(axis=0), float(current.max())
    if through_resistor:
        slope = _slope(supply, 0.0, supply.resistance, quarter)
        more = bridged + _MORE_CYCLES * supply.period
        after, rest = _run(
            supply, slope, bridged, more, state[:, -1].tolist(), _MORE_CYCLES * _SAMPLES, _COARSE
        )
        surge = _current(supply, after, rest[:groups], supply.resistance, quarter)
        bridging = float(surge.max())
        time, voltage = np.concatenate([time, after]), np.concatenate([voltage, rest[:groups].sum(axis=0)])
        current = np.concatenate([current, surge])
    return SwitchOn(
        time=time,
        voltage=voltage,
        current=current,
        peak=peak,
        bridging_peak=bridging,
        joule=heat * supply.inrush if through_resistor else 0.0,
        bridged=bridged if timed is None else timed,
        charged=float(voltage[np.searchsorted(time, bridged)]),
    )


def _rise(groups: FloatArray) -> float:
    """Rise of the voltage across the chain over the last period [V]."""
    return float(groups[:, -1].sum() - groups[:, -1 - _SAMPLES].sum())


def discharge(supply: PlateSupply, start: float, resistance: float, touch: float) -> float | None:
    """Return how long the capacitors take from a voltage down to another through a resistance [s].

    Parameters
    ----------
    supply : PlateSupply
    start, touch : float
        [V].
    resistance : float
        Across the chain [ohm]; infinite for none.

    Returns
    -------
    float or None
        None where nothing discharges them.
    """
    if math.isinf(resistance):
        return None
    if start <= touch:
        return 0.0
    from scipy.integrate import solve_ivp

    time = resistance * supply.capacitance

    def reached(_: float, state: State) -> float:
        return float(state[0]) - touch

    reached.terminal = True  # type: ignore[attr-defined]
    span = (0.0, time * (math.log(start / touch) + 1))
    found = solve_ivp(
        lambda _, v: [-float(v[0]) / time],
        span,
        [start],
        method="DOP853",
        events=reached,
        rtol=1e-10,
        atol=touch * 1e-10,
    )
    assert found.t_events is not None  # one was asked for
    return float(found.t_events[0][0])


def arc(supply: PlateSupply, start: float) -> Arc:
    """Return the discharge of the capacitors through an arc of constant voltage.

    Parameters
    ----------
    supply : PlateSupply
        With some resistance in the way of the arc.
    start : float
        Voltage of the capacitors, above that of the arc [V].

    Notes
    -----
    ``C dv/dt = -(v - V_arc) / R``. What the transformer goes on giving until the mains are cut is left out.
    """
    from scipy.integrate import solve_ivp

    resistance, capacitance = supply.arc_resistance, supply.capacitance
    time = resistance * capacitance

    def slope(_: float, state: State) -> list[float]:
        current = max(state[0] - supply.arc_voltage, 0.0) / resistance
        return [-current / capacitance, current, current**2]

    samples = np.linspace(0, ARC_SPAN * time, 6000)
    scale = (start - supply.arc_voltage) / resistance
    small = 1e-10 * np.array([start, scale * time, scale**2 * time])
    found = solve_ivp(
        slope,
        (0.0, float(samples[-1])),
        [start, 0.0, 0.0],
        method="DOP853",
        t_eval=samples,
        rtol=1e-9,
        atol=small,
    )
    current = np.maximum(found.y[0] - supply.arc_voltage, 0.0) / resistance
    return Arc.through(supply, found.t, current, float(found.y[1, -1]), float(found.y[2, -1]))


def _guess(supply: PlateSupply, load: float) -> float:
    """Voltage of one group of capacitors to begin with: the peak less what the load takes of it."""
    current = load + supply.conductance * supply.highest
    share = math.pow(3 * current * supply.resistance / supply.peak, 2 / 3)
    return supply.peak * max(0.3, 1 - share)


def _augmented(start: FloatArray) -> list[float]:
    """Voltages, and three integrals that go along: of voltage, of the current's square, of power from e."""
    return [*(float(v) for v in start), 0.0, 0.0, 0.0]


def _slope(supply: PlateSupply, load: float, resistance: float, phase: float) -> Slope:
    omega, peak, across = 2 * math.pi * supply.frequency, supply.peak, supply.conductance
    collapsed, capacitance = HANDLED * supply.highest, supply.capacitance

    def drawn(volts: float) -> float:
        return load * min(max(volts / collapsed, 0.0), 1.0) + across * volts

    def single(time: float, state: State) -> list[float]:
        volts = state[0]
        size = abs(peak * math.sin(omega * time + phase))
        current = (size - volts) / resistance if size > volts else 0.0
        return [(current - drawn(volts)) / capacitance, volts, current**2, size * current]

    def double(time: float, state: State) -> list[float]:
        upper, lower = state[0], state[1]
        e = peak * math.sin(omega * time + phase)
        up = (e - upper) / resistance if e > upper else 0.0
        down = (-e - lower) / resistance if -e > lower else 0.0
        taken = drawn(upper + lower)
        each = 2 * capacitance
        return [(up - taken) / each, (down - taken) / each, upper + lower, up**2 + down**2, e * (up - down)]

    return double if supply.rectifier == "doubler" else single


def _current(
    supply: PlateSupply, time: FloatArray, groups: FloatArray, resistance: float, phase: float
) -> FloatArray:
    """Size of the secondary's current [A]."""
    e = supply.peak * np.sin(2 * np.pi * supply.frequency * time + phase)
    if supply.rectifier == "doubler":
        return np.asarray(np.maximum(np.maximum(e - groups[0], -e - groups[1]), 0.0) / resistance)
    return np.asarray(np.maximum(np.abs(e) - groups[0], 0.0) / resistance)


def _run(
    supply: PlateSupply,
    slope: Slope,
    begin: float,
    end: float,
    state: Sequence[float],
    samples: int = 1,
    steps: int = _STEPS,
) -> tuple[FloatArray, FloatArray]:
    from scipy.integrate import solve_ivp

    groups = len(state) - 3
    current = supply.peak / supply.resistance
    small = [supply.peak] * groups + [
        supply.peak * supply.period,
        1e-3 * current**2 * supply.period,
        1e-3 * supply.peak * current * supply.period,
    ]
    found = solve_ivp(
        slope,
        (begin, end),
        state,
        method="LSODA",
        t_eval=np.linspace(begin, end, samples + 1),
        max_step=supply.period / steps,
        rtol=_RELATIVE,
        atol=[_RELATIVE * value for value in small],
    )
    return found.t, found.y
