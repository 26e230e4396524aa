"""Tube and network in ngspice over time: what harmonic balance is checked against."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import Branch, Capacitor, DampedInductor, FloatArray, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.tube.triode import LEAST_PLATE, TubeConstants
from netsim.errors import DisagreementError, EngineFailedError, Problem
from netsim.solvers import batch, spice
from netsim.solvers.netlist import checked_name, number, text
from netsim.solvers.start_state import StartState, state_at_crest
from netsim.solvers.steady_state import Balance

TITLE = "output stage over time"
STEPS = 400
"""Of one period. A hundred are half a decibel off at the fourth order."""

WARM_CYCLES = 12
"""From the balance's own state; what is left to settle is the difference between the two."""

PATIENT = {"cycles": 60, "steps": 1600}
"""How a difference is looked at again, before it counts: it may be the run's that was too short or too coarse."""

GATES = ((-40.0, 0.1), (-70.0, 0.3))
"""Down to which level [dBc] two spectra may differ by how much [dB]; weaker harmonics are not compared."""

COLD_CYCLES = 400
"""From rest: the plate choke with the blocking capacitor settles last."""

_FITTED_CYCLES = 4
_FITTED_ORDERS = 24
_LEAST_GRID = 1e-9  # grid voltage [V] below which the grid takes nothing
_IDEAL_CHOKE = 1e7  # reactance of a choke that is absent [ohm]


@dataclass(frozen=True)
class Spectrum:
    """What a steady state is known by.

    Attributes
    ----------
    antenna_voltage : ndarray
        Orders 1 to n, to ground [V peak].
    plate_voltage, plate_current : float
        The fundamental's [V peak], [A peak].
    plate_current_dc : float
        [A].
    """

    antenna_voltage: FloatArray
    plate_voltage: float
    plate_current: float
    plate_current_dc: float


@dataclass(frozen=True)
class Difference:
    """How far two spectra are apart, in the quantity that exceeds what it may by most.

    Attributes
    ----------
    decibel : float
        The largest difference of any quantity compared [dB].
    excess : float
        The largest difference over what it may be; up to 1 they agree.
    quantity : str
        Which that is.
    """

    decibel: float
    excess: float
    quantity: str


def difference(one: Spectrum, other: Spectrum) -> Difference:
    """Compare two spectra.

    Parameters
    ----------
    one, other : Spectrum
        Of the same orders.

    Returns
    -------
    Difference
        Over plate current (DC and fundamental), plate voltage and every order of the antenna's voltage that
        either has above -70 dBc. A value that is no number, or zero against one that is not, differs infinitely.
    """
    stages = [
        ("plate current at DC", one.plate_current_dc, other.plate_current_dc),
        ("plate current", one.plate_current, other.plate_current),
        ("plate voltage", one.plate_voltage, other.plate_voltage),
    ]
    antennas = np.stack([one.antenna_voltage, other.antenna_voltage])
    values = np.concatenate([np.array([pair[1:] for pair in stages]).T, antennas], axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        apart = np.abs(np.diff(20 * np.log10(np.abs(values)), axis=0)[0])
        level = 20 * np.log10(antennas / antennas[:, :1]).max(axis=0)
    apart = np.where(np.isnan(apart), np.inf, apart)
    level = np.concatenate([np.zeros(len(stages)), np.where(np.isnan(level), 0.0, level)])
    allowed = np.select([level >= down_to for down_to, _ in GATES], [most for _, most in GATES], np.inf)
    compared = np.isfinite(allowed)
    worst = int(np.argmax(apart[compared] / allowed[compared]))
    names = [name for name, *_ in stages]
    names += [f"order {n + 1} of the antenna's voltage" for n in range(antennas.shape[1])]
    quantity = np.array(names)[compared][worst]
    return Difference(
        float(apart[compared].max()), float((apart[compared] / allowed[compared])[worst]), str(quantity)
    )


def check(ladder: Ladder, balance: Balance, row: int, *, orders: int = 10) -> float:
    """Run one balanced network in ngspice over time, from the balance's own state, and compare.

    Parameters
    ----------
    ladder : Ladder
        Of all networks, as balanced.
    balance : Balance
        Of the same networks with their tube; that of this row has converged.
    row : int
        Which network.
    orders : int
        How many to compare.

    Returns
    -------
    float
        The largest difference of any quantity that `difference` compares [dB].

    Raises
    ------
    DisagreementError
        If one exceeds what it may, also in a longer run with shorter steps.
    EngineMissingError, EngineFailedError
        As `spice.transient`.
    """
    single, tube, supply = ladder.single(row), balance.tube.single(row), float(balance.supply[row])
    start = state_at_crest(ladder, balance, row)
    expected = _balanced(single, balance, row, orders)
    found = difference(solve(single, tube, supply, start, orders=orders), expected)
    if found.excess > 1:
        found = difference(solve(single, tube, supply, start, orders=orders, **PATIENT), expected)
    if found.excess > 1:
        raise DisagreementError(
            Problem(
                "disagreement",
                f"harmonic balance and ngspice over time differ by {found.decibel:.2g} dB at "
                f"{ladder.frequency[row] / 1e6:g} MHz, most of what they may in the {found.quantity}: neither is "
                "to be believed; please report this with the file",
            )
        )
    return found.decibel


def _balanced(single: Ladder, balance: Balance, row: int, orders: int) -> Spectrum:
    """Draw the same out of a balance, by the batch solver."""
    antenna = batch.solve(single, np.arange(1.0, orders + 1)).node_voltage[single.nodes[-1]][0]
    return Spectrum(
        np.abs(antenna * balance.plate_current[row, :orders]),
        float(np.abs(balance.plate_voltage[row, 0])),
        float(np.abs(balance.plate_current[row, 0])),
        float(balance.plate_current_dc[row]),
    )


def solve(
    ladder: Ladder,
    tube: TubeConstants,
    plate_voltage: float,
    start: StartState | None,
    *,
    cycles: int | None = None,
    steps: int = STEPS,
    orders: int = 10,
) -> Spectrum:
    """Let one stage run until it is steady and take the last periods apart.

    Parameters
    ----------
    ladder : Ladder
        Of one network, its open branches left away (``Ladder.single``), ending in a resistive antenna.
    tube : TubeConstants
        With bias and drive.
    plate_voltage : float
        DC, plate to cathode [V].
    start : StartState or None
        State of coils and capacitors at the drive's crest; None starts at rest, the drive already on.
    cycles : int, optional
        How many periods.
    steps : int
        Of one period.
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
    count = cycles or (COLD_CYCLES if start is None else WARM_CYCLES)
    frequency = float(ladder.frequency[0])
    stop = count / frequency
    names = [_node(ladder.nodes[-1]), _node(ladder.nodes[0]), "vtube#branch"]
    netlist = render(ladder, tube, plate_voltage, start, count, steps)
    vectors = spice.transient(netlist, stop / count / steps, stop, names)
    time = vectors["time"]
    last = time >= stop - _FITTED_CYCLES / frequency
    waves = np.stack([vectors[name][last] for name in names], axis=1)
    mean, peaks = fourier(frequency * time[last], waves)
    return Spectrum(peaks[:orders, 0].copy(), float(peaks[0, 1]), float(peaks[0, 2]), float(mean[2]))


def fourier(time: FloatArray, waves: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Fit means and harmonics to waves over whole periods, by least squares.

    Parameters
    ----------
    time : ndarray
        In periods, not necessarily even, shape ``(samples,)``.
    waves : ndarray
        Shape ``(samples, waves)``.

    Returns
    -------
    mean, peak : ndarray
        Shape ``(waves,)`` and, peak values, ``(orders, waves)``.
    """
    phase = 2 * np.pi * time[:, np.newaxis] * np.arange(1, _FITTED_ORDERS + 1)
    basis = np.concatenate([np.ones((len(phase), 1)), np.cos(phase), np.sin(phase)], axis=1)
    # Over whole periods the columns are all but orthogonal, so nothing is lost by normal equations; what splits
    # larger products over threads takes a hundred times as long on a busy machine.
    square, right = np.einsum("ki,kj->ij", basis, basis), np.einsum("ki,kj->ij", basis, waves)
    fitted = np.linalg.solve(square, right)
    return fitted[0], np.hypot(fitted[1 : _FITTED_ORDERS + 1], fitted[_FITTED_ORDERS + 1 :])


def render(
    ladder: Ladder,
    tube: TubeConstants,
    plate_voltage: float,
    start: StartState | None,
    cycles: int,
    steps: int,
) -> str:
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
    step = 1 / frequency / steps
    end = cycles / frequency
    begin = (cycles - _FITTED_CYCLES - 1) / frequency
    lines += [
        f".save v({_node(ladder.nodes[-1])}) v({_node(ladder.nodes[0])}) i(vtube)",
        ".options method=trap reltol=1e-5 abstol=1e-9 vntol=1e-6 itl4=100",
        f".tran {number(step)} {number(end)} {number(begin)} {number(step)} uic",
        ".end",
    ]
    return text(lines)


def tube_current(tube: TubeConstants, plate: str) -> str:
    """Write the plate current of all tubes as an expression of ngspice.

    Parameters
    ----------
    tube : TubeConstants
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
        case Inductor(inductance=inductance, resistance=resistance) if inductance.item() == 0:
            wire = resistance.item() == 0  # ngspice would make either 1 milliohm or a singular matrix of it
            return [f"v{name} {a} {b} 0" if wire else f"r{name} {a} {b} {number(resistance.item())}"]
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
