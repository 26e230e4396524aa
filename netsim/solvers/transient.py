"""Tube and network in ngspice over time: what harmonic balance is checked against."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import Branch, Capacitor, DampedInductor, FloatArray, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.tube.triode import LEAST_PLATE, Tube
from netsim.errors import EngineFailedError, Problem
from netsim.solvers.netlist import checked_name, number, text
from netsim.solvers.start_state import StartState

TITLE = "output stage over time"
STEPS = 400
"""Of one period. A hundred are half a decibel off at the fourth order."""

WARM_CYCLES = 12
"""From the balance's own state; what is left to settle is the difference between the two."""

COLD_CYCLES = 400
"""From rest: the plate choke with the blocking capacitor settles last."""

_FITTED_CYCLES = 4
_FITTED_ORDERS = 24
_LEAST_GRID = 1e-9  # grid voltage [V] below which the grid takes nothing
_IDEAL_CHOKE = 1e7  # reactance of a choke that is absent [ohm]


@dataclass(frozen=True)
class Spectrum:
    """Orders 1 to 10 of the antenna's voltage to ground [V peak], and the DC plate current [A]."""

    antenna_voltage: FloatArray
    plate_current_dc: float


def solve(
    ladder: Ladder,
    tube: Tube,
    plate_voltage: float,
    start: StartState | None,
    *,
    cycles: int | None = None,
    orders: int = 10,
) -> Spectrum:
    """Let one stage run until it is steady and take the last periods apart.

    Parameters
    ----------
    ladder : Ladder
        Of one network, its open branches left away (``Ladder.single``), ending in a resistive antenna.
    tube : Tube
        With bias and drive.
    plate_voltage : float
        DC, plate to cathode [V].
    start : StartState or None
        State of coils and capacitors at the drive's crest; None starts at rest, the drive already on.
    cycles : int, optional
        How many periods.
    orders : int
        How many to report.

    Returns
    -------
    Spectrum
        By least squares over the last four periods, so that uneven steps do no harm.

    Raises
    ------
    EngineMissingError, EngineFailedError
        As `spice.transient`.
    """
    from netsim.solvers import spice

    count = cycles or (COLD_CYCLES if start is None else WARM_CYCLES)
    frequency = float(ladder.frequency[0])
    stop = count / frequency
    vectors = spice.transient(render(ladder, tube, plate_voltage, start, count), stop)
    time = vectors["time"]
    last = time >= stop - _FITTED_CYCLES / frequency
    phase = 2 * np.pi * frequency * time[last, np.newaxis] * np.arange(1, _FITTED_ORDERS + 1)
    basis = np.concatenate([np.ones((len(phase), 1)), np.cos(phase), np.sin(phase)], axis=1)
    waves = np.stack([vectors[_node(ladder.nodes[-1])][last], vectors["vtube#branch"][last]], axis=1)
    fitted = np.linalg.lstsq(basis, waves, rcond=None)[0]
    antenna = np.hypot(fitted[1 : orders + 1, 0], fitted[_FITTED_ORDERS + 1 : _FITTED_ORDERS + 1 + orders, 0])
    return Spectrum(antenna, float(fitted[0, 1]))


def render(ladder: Ladder, tube: Tube, plate_voltage: float, start: StartState | None, cycles: int) -> str:
    """Write the netlist.

    Notes
    -----
    The plate supply stands inside the tube's expression and the choke's cold end on ground, which is the
    same circuit: the choke joins both at DC. A loss that grows with the square root of the order has no
    part in the time domain, so resistances are those of the fundamental; the plate choke's is put across
    it, with the same admittance at the fundamental, because in series it would drop the DC. Steps are
    trapezoidal: Gear's damp.
    """
    frequency = float(ladder.frequency[0])
    plate = f"({number(plate_voltage)}+v(plate_node))"
    if tube.series_drive:
        plate = f"({number(plate_voltage - float(tube.bias_voltage))}+v(plate_node)+v(grid))"
    law = tube_current(tube, plate)
    bias, drive = number(float(tube.bias_voltage)), number(float(tube.drive_voltage_peak))
    lines = [
        TITLE,
        f"vgrid grid 0 sin({bias} {drive} {number(frequency)} 0 0 90)",
        "vtube plate_node tube_node 0",
        f"btube tube_node 0 i={law}",
    ]
    for branch in ladder.branches:
        lines += _branch(ladder, branch, start)
    for pair in ladder.couplings:
        one, other = (f"l{checked_name(name)}" for name in (pair.one, pair.other))
        lines.append(f"k{pair.one} {one} {other} {number(pair.coefficient.item())}")
    if "plate_choke" not in ladder:
        lines.append(_ideal_choke(ladder, start))
    step = 1 / frequency / STEPS
    end = cycles / frequency
    begin = (cycles - _FITTED_CYCLES - 1) / frequency
    lines += [
        f".save v({_node(ladder.nodes[-1])}) i(vtube)",
        ".options method=trap reltol=1e-5 abstol=1e-9 vntol=1e-6 itl4=100",
        f".tran {number(step)} {number(end)} {number(begin)} {number(step)} uic",
        ".end",
    ]
    return text(lines)


def tube_current(tube: Tube, plate: str) -> str:
    """Write the plate current of all tubes as an expression of ngspice.

    Parameters
    ----------
    tube : Tube
        Of one network, its constants numbers.
    plate : str
        Expression of the plate to cathode voltage; the grid's is that of node ``grid``.

    Returns
    -------
    str
        The same law as the tube's, see there. Square roots start just above zero, because the engine
        divides by them.
    """
    factor, knee = number(float(tube.amplification_factor)), number(float(tube.knee_voltage))
    offset = number(float(tube.screen_lift))
    space = f"{number(tube.count * float(tube.perveance))}*pow(max(v(grid)+{offset}+{plate}/{factor},0),1.5)"
    taken = f"tanh(max({plate},0)/{knee})"
    if tube.grid_perveance is None:
        return f"{space}*{taken}"
    past = f"max({plate},{number(LEAST_PLATE)})"
    if tube.screen_voltage is not None:
        past = number(float(tube.screen_voltage))
    beside = f"{number(float(tube.grid_share))}*sqrt(max(v(grid),{number(_LEAST_GRID)})/{past})"
    return f"{space}*{taken}/(1+{beside})"


def _node(name: str) -> str:
    return f"{checked_name(name)}_node"


def _branch(ladder: Ladder, branch: Branch, start: StartState | None) -> list[str]:
    name, element = checked_name(branch.name), branch.element
    a, b = _node(branch.node), "0" if branch.to is None else _node(branch.to)
    initial = number(0.0 if start is None else start.of(branch.name))
    between = f"{name}_between"
    match element:
        case Capacitor(capacitance=capacitance, resistance=resistance):
            entry, value, series = "c", capacitance.item(), resistance.item()
        case Inductor(inductance=inductance, resistance=resistance) if name == "plate_choke":
            return _parallel(ladder, (name, a, b), inductance.item(), resistance.item(), initial)
        case Inductor(inductance=inductance, resistance=resistance):
            entry, value, series = "l", inductance.item(), resistance.item()
        case DampedInductor(inductance=inductance, resistance=resistance):
            return [
                f"l{name} {a} {b} {number(inductance.item())} ic={initial}",
                f"r{name} {a} {b} {number(resistance.item())}",
            ]
        case Resistor(resistance=resistance):
            return [f"r{name} {a} {b} {number(resistance.item())}"]
        case _:
            raise EngineFailedError(
                Problem("engine_failed", "a measured termination has no counterpart in the time domain")
            )
    if series == 0:
        return [f"{entry}{name} {a} {b} {number(value)} ic={initial}"]
    return [
        f"{entry}{name} {a} {between} {number(value)} ic={initial}",
        f"r{name} {between} {b} {number(series)}",
    ]


def _parallel(
    ladder: Ladder, place: tuple[str, str, str], inductance: float, resistance: float, initial: str
) -> list[str]:
    name, a, b = place
    if resistance == 0:
        return [f"l{name} {a} {b} {number(inductance)} ic={initial}"]
    reactance = 2 * np.pi * float(ladder.frequency[0]) * inductance
    square = reactance**2 + resistance**2
    return [
        f"l{name} {a} {b} {number(inductance * square / reactance**2)} ic={initial}",
        f"r{name} {a} {b} {number(square / resistance)}",
    ]


def _ideal_choke(ladder: Ladder, start: StartState | None) -> str:
    """Stand a very large coil in for an ideal choke; it is started with the current it carries."""
    after = "junction" if "junction" in ladder.nodes else "plate"
    inductance = _IDEAL_CHOKE / (2 * np.pi * float(ladder.frequency[0]))
    initial = 0.0 if start is None else -start.plate_current_dc
    return f"lplate_choke {_node(after)} 0 {number(inductance)} ic={number(initial)}"
