"""The plate supply in ngspice over time: what the integration is checked against."""

import math

import numpy as np

from netsim.circuit.box.plate_supply import HANDLED, PlateSupply
from netsim.circuit.elements import FloatArray
from netsim.solvers import spice
from netsim.solvers.netlist import number, text
from netsim.solvers.supply.waves import ARC_SPAN, Arc, Steady, SwitchOn

TITLE = "plate supply over time"
STEPS = 1000
"""Of a period of the mains."""

CYCLES = 6
"""From the integration's own periodic state; the last of them is compared, the others show a drift."""

_CHARGING_STEPS, _SURGE_STEPS, _MOST_STEPS, _MOST_OF_PERIOD = 200, 50, 200_000, 20_000
_CONDUCTING = 2e4  # conductance of a diode over that of the secondary's resistance
_BLOCKING = 1e-12  # [S]
_AFTER = 3  # periods after the resistor is bridged


def steady(supply: PlateSupply, load: float, start: tuple[float, ...], cycles: int = CYCLES) -> Steady:
    """Run a supply at a constant load current and take its last period apart.

    Parameters
    ----------
    supply : PlateSupply
    load : float
        [A].
    start : tuple of float
        Voltage of each group of capacitors at a zero of the mains, upwards [V].
    cycles : int
        How many periods of the mains.

    Raises
    ------
    EngineMissingError, EngineFailedError
        As ``spice.transient``.
    """
    stop = cycles * supply.period
    # Small capacitors follow the crest within microseconds: a step longer than that overshoots their first current.
    groups = 2 if supply.rectifier == "doubler" else 1
    following = supply.resistance * supply.capacitance * groups
    step = max(min(supply.period / STEPS, following / 2), supply.period / _MOST_OF_PERIOD)
    found = _solve(supply, load, start, phase=0.0, step=step, stop=stop)
    last = found["time"] >= stop - supply.period * (1 + 1e-9)
    time, volts, current = (found[name][last] for name in ("time", "v", "i"))
    emf = supply.peak * np.sin(2 * np.pi * supply.frequency * time)
    span = float(time[-1] - time[0])
    # No current flows where the secondary's voltage is zero, which is where the period begins and ends.
    square = _trapezoid(current**2, time) / supply.period
    halves = 2.0 if supply.rectifier == "full-wave" else 1.0
    return Steady(
        mean=_trapezoid(volts, time) / span,
        highest=float(volts.max()),
        ripple=float(np.ptp(volts)),
        secondary_rms=math.sqrt(square),
        secondary_peak=float(np.abs(current).max()),
        mains=_trapezoid(emf * current, time) / supply.period * halves,
        winding=square * halves * supply.resistance,
        start=start,
    )


def switch_on(supply: PlateSupply, bridged: float | None) -> SwitchOn:
    """Run a supply from empty capacitors on, switched on at the crest, without a tube's load.

    Parameters
    ----------
    supply : PlateSupply
    bridged : float or None
        When the inrush resistor is bridged [s]; None for a run without it, while its surge lasts.

    Raises
    ------
    EngineMissingError, EngineFailedError
        As ``spice.transient``.
    """
    groups = 2 if supply.rectifier == "doubler" else 1
    # The surge of small capacitors is over long before the mains' crest is.
    surge = (supply.resistance + (0.0 if bridged is None else supply.inrush)) * supply.capacitance * groups
    stop = min(_AFTER * supply.period, 5 * surge)
    if bridged is not None:
        stop = bridged + _AFTER * supply.period
    step = max(min(supply.period / _CHARGING_STEPS, surge / _SURGE_STEPS), stop / _MOST_STEPS)
    found = _solve(supply, 0.0, (0.0,) * groups, phase=90.0, step=step, stop=stop, bridged=bridged)
    time, volts = found["time"], found["v"]
    current = np.abs(found["i"] + found.get("j", 0.0))
    if bridged is None:
        return SwitchOn(time, volts, current, float(current.max()), None, 0.0, stop, float(volts[-1]))
    before = time < bridged
    joule = _trapezoid(current[before] ** 2, time[before]) * supply.inrush
    return SwitchOn(
        time=time,
        voltage=volts,
        current=current,
        peak=float(current[before].max()),
        bridging_peak=float(current[~before].max()),
        joule=joule,
        bridged=bridged,
        charged=float(np.interp(bridged, time, volts)),
    )


def discharge(supply: PlateSupply, start: float, resistance: float, touch: float) -> float:
    """Run the capacitors down through a resistance [ohm] and return when a voltage is reached [s]."""
    time = resistance * supply.capacitance
    stop = time * (math.log(start / touch) + 0.5)
    step = time / 200
    lines = [
        TITLE,
        f"cchain p 0 {number(supply.capacitance)} ic={number(start)}",
        f"rbleed p 0 {number(resistance)}",
        *_analysis(("v(p)",), step, stop),
    ]
    found = spice.transient(text(lines), step, stop, ["p"])
    return float(np.interp(-touch, -found["p"], found["time"]))


def arc(supply: PlateSupply, start: float) -> Arc:
    """Run the capacitors through an arc of constant voltage at the plate.

    Parameters
    ----------
    supply : PlateSupply
        With some resistance in the way of the arc.
    start : float
        Voltage of the capacitors [V].
    """
    time_constant = supply.arc_resistance * supply.capacitance
    stop, step = ARC_SPAN * time_constant, time_constant / 500
    way = [("capacitor", supply.capacitor_resistance), ("glitch", supply.glitch)]
    resistors = [(name, value) for name, value in way if value > 0]
    nodes = ["p", *(f"n{k + 1}" for k in range(len(resistors)))]
    lines = [TITLE, f"cchain p 0 {number(supply.capacitance)} ic={number(start)}"]
    lines += [
        f"r{name} {nodes[k]} {nodes[k + 1]} {number(value)}" for k, (name, value) in enumerate(resistors)
    ]
    lines += [f"varc {nodes[-1]} 0 {number(supply.arc_voltage)}", *_analysis(("i(varc)",), step, stop)]
    found = spice.transient(text(lines), step, stop, ["varc#branch"])
    time, current = found["time"], found["varc#branch"]
    charge, integral = (_trapezoid(current**power, time) for power in (1, 2))
    return Arc.through(supply, time, current, charge, integral)


def _solve(
    supply: PlateSupply,
    load: float,
    start: tuple[float, ...],
    *,
    phase: float,
    step: float,
    stop: float,
    bridged: float | None = None,
) -> dict[str, FloatArray]:
    """Run the rectifier; ``v`` across the chain, ``i`` and of a second half-winding ``j`` out of the secondary."""
    sources = 2 if supply.rectifier == "full-wave" else 1
    lines = [TITLE]
    for k in range(sources):
        lines += _winding(supply, k + 1, phase + 180.0 * k, bridged)
    lines += _rectifier(supply, start)
    lines += _load(supply, load)
    names = ["p", *(f"vmains{k + 1}#branch" for k in range(sources))]
    saved = ["v(p)", *(f"i(vmains{k + 1})" for k in range(sources))]
    found = spice.transient(text([*lines, *_analysis(saved, step, stop)]), step, stop, names)
    # A source's current counts into its upper end.
    return {
        "time": found["time"],
        "v": found["p"],
        **{key: -found[name] for key, name in zip("ij", names[1:], strict=False)},
    }


def _winding(supply: PlateSupply, which: int, phase: float, bridged: float | None) -> list[str]:
    """Ideal secondary and what stands in series with it, the inrush resistor until it is bridged."""
    foot = {"bridge": "b", "full-wave": "0", "doubler": "m"}[supply.rectifier]
    sine = f"sin(0 {number(supply.peak)} {number(supply.frequency)} 0 0 {number(phase)})"
    source = f"vmains{which} s{which} {foot} {sine}"
    if bridged is None:
        return [source, f"rwinding{which} s{which} a{which} {number(supply.resistance)}"]
    before, after = 1 / (supply.resistance + supply.inrush), 1 / supply.resistance
    switched = f"(time<{number(bridged)} ? {number(before)} : {number(after)})"
    return [source, f"bwinding{which} s{which} a{which} i=v(s{which},a{which})*{switched}"]


def _rectifier(supply: PlateSupply, start: tuple[float, ...]) -> list[str]:
    conducting = number(_CONDUCTING / supply.resistance)

    def diode(name: str, anode: str, cathode: str) -> str:
        across = f"v({anode})" if cathode == "0" else f"v({anode},{cathode})"
        across = f"-v({cathode})" if anode == "0" else across
        return f"b{name} {anode} {cathode} i={conducting}*max({across},0)+{number(_BLOCKING)}*{across}"

    match supply.rectifier:
        case "bridge":
            diodes = [("a1", "p"), ("0", "a1"), ("b", "p"), ("0", "b")]
        case "full-wave":
            diodes = [("a1", "p"), ("a2", "p")]
        case "doubler":
            diodes = [("a1", "p"), ("0", "a1")]
    lines = [diode(f"diode{k + 1}", *ends) for k, ends in enumerate(diodes)]
    if supply.rectifier == "doubler":
        each = number(2 * supply.capacitance)
        return [
            *lines,
            f"cupper p m {each} ic={number(start[0])}",
            f"clower m 0 {each} ic={number(start[1])}",
        ]
    return [*lines, f"cchain p 0 {number(supply.capacitance)} ic={number(start[0])}"]


def _load(supply: PlateSupply, load: float) -> list[str]:
    lines = []
    for name, value in (("bleeder", supply.bleeder), ("equalizer", supply.equalizer)):
        if math.isfinite(value):
            lines.append(f"r{name} p 0 {number(value)}")
    if load > 0:
        collapsed = number(HANDLED * supply.highest)
        lines.append(f"bload p 0 i={number(load)}*min(max(v(p)/{collapsed},0),1)")
    return lines


def _trapezoid(values: FloatArray, time: FloatArray) -> float:
    """Integrate over uneven steps."""
    return float((np.diff(time) * (values[1:] + values[:-1])).sum() / 2)


def _analysis(saved: tuple[str, ...] | list[str], step: float, stop: float) -> list[str]:
    return [
        f".save {' '.join(saved)}",
        ".options method=trap reltol=1e-5 abstol=1e-9 vntol=1e-5 itl4=100",
        f".tran {number(step)} {number(stop)} 0 {number(step)} uic",
        ".end",
    ]
