"""Circuits of any shape over time in ngspice: built part by part, with names made here and never a word of a user's."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.errors import EngineFailedError, Problem
from netsim.solvers import spice
from netsim.solvers.netlist import number, text

TITLE = "a circuit over time"
EDGE = 1e-7
"""A timed switch takes this long to close or open [s]; it does so in the middle of it."""

_ARC_SATURATION, _ARC_EMISSION = 1e-9, 0.02  # a diode whose own drop is a few millivolts


@dataclass(frozen=True)
class Node:
    """A node of a circuit; 0 is ground."""

    index: int


@dataclass(frozen=True)
class Branch:
    """A part of a circuit; its current flows from the first node given to the second."""

    index: int


@dataclass(frozen=True)
class Diode:
    """What a diode, or several in series, is made of.

    Attributes
    ----------
    saturation_current : float
        [A].
    emission_coefficient : float
        In ``i = I_s (exp(v / (n V_T)) - 1)``, with V_T = 25.864 mV at the engine's 27 degC; for a string of
        diodes that of one times their number.
    series_resistance : float
        [ohm]; may be 0.
    """

    saturation_current: float = 1e-9
    emission_coefficient: float = 1.8
    series_resistance: float = 0.0


GROUND = Node(0)


@dataclass(frozen=True)
class Waves:
    """What was recorded.

    Attributes
    ----------
    time : ndarray
        [s], rising, not evenly spaced, shape ``(points,)``.
    values : mapping of Node or Branch to ndarray
        Voltages to ground [V] and currents [A], same shape.
    """

    time: FloatArray
    values: Mapping[Node | Branch, FloatArray]

    def __getitem__(self, place: Node | Branch) -> FloatArray:
        return self.values[place]


class Circuit:
    """Collect parts between nodes.

    Examples
    --------
    A capacitor of 10 uF at 100 V discharges through 1 kohm; after 10 ms 36.8 V are left:

    >>> circuit = Circuit()
    >>> top = circuit.node()
    >>> capacitor = circuit.capacitor(top, GROUND, 10e-6, initial_volt=100.0)
    >>> resistor = circuit.resistor(top, GROUND, 1e3)
    >>> waves = run_transient(circuit, 1e-5, 10e-3, [top])
    >>> round(float(waves[top][-1]), 1)
    36.8
    """

    def __init__(self) -> None:
        self._nodes = 0
        self._parts: list[tuple[Node, str]] = []  # where it begins; its line with {a} for that node
        self._lines: list[str] = []  # models, couplings, controls

    def node(self) -> Node:
        """Return a new node."""
        self._nodes += 1
        return Node(self._nodes)

    def resistor(self, a: Node, b: Node, ohm: float) -> Branch:
        """Put a resistance above zero [ohm] between two nodes."""
        return self._add("r", a, b, _positive(ohm))

    def capacitor(self, a: Node, b: Node, farad: float, *, initial_volt: float = 0.0) -> Branch:
        """Put a capacitor [F] between two nodes, with a voltage of the first against the second [V] to start from."""
        return self._add("c", a, b, f"{_positive(farad)} ic={number(initial_volt)}")

    def inductor(self, a: Node, b: Node, henry: float, *, initial_ampere: float = 0.0) -> Branch:
        """Put an inductor [H] between two nodes, with a current [A] to start from."""
        return self._add("l", a, b, f"{_positive(henry)} ic={number(initial_ampere)}")

    def couple(self, one: Branch, other: Branch, coefficient: float) -> None:
        """Couple two inductors, M = k sqrt(L1 L2); for k > 0 their first nodes have the same sense."""
        if not -1 <= coefficient <= 1:
            raise _refused(f"a coupling of {coefficient}, which is not between -1 and 1")
        name = f"k{len(self._lines)}"
        self._lines.append(f"{name} l{one.index} l{other.index} {number(coefficient)}")

    def voltage(self, a: Node, b: Node, volt: float) -> Branch:
        """Put a DC source [V] between two nodes, the first positive."""
        return self._add("v", a, b, f"dc {number(volt)}")

    def sine(
        self,
        a: Node,
        b: Node,
        volt_peak: float,
        hertz: float,
        *,
        phase_degree: float = 0.0,
        offset: float = 0.0,
    ) -> Branch:
        """Put a source ``offset + volt_peak sin(2 pi hertz t + phase)`` [V] between two nodes."""
        shape = " ".join(map(number, (offset, volt_peak, hertz, 0.0, 0.0, phase_degree)))
        return self._add("v", a, b, f"sin({shape})")

    def pulse(
        self,
        a: Node,
        b: Node,
        low: float,
        high: float,
        *,
        delay: float,
        edge: float,
        width: float,
        period: float,
    ) -> Branch:
        """Put a source [V] between two nodes that goes from low to high and back within each period [s]."""
        shape = " ".join(map(number, (low, high, delay, edge, edge, width, period)))
        return self._add("v", a, b, f"pulse({shape})")

    def diode(self, anode: Node, cathode: Node, kind: Diode) -> Branch:
        """Put a diode between two nodes."""
        model = f"m{len(self._lines)}"
        self._lines.append(
            f".model {model} d(is={_positive(kind.saturation_current)} n={_positive(kind.emission_coefficient)} "
            f"rs={number(kind.series_resistance)})"
        )
        return self._add("d", anode, cathode, model)

    def switch(
        self, a: Node, b: Node, control: tuple[Node, Node], *, closes_at: float, on: float, off: float
    ) -> Branch:
        """Put a switch between two nodes that is closed while a control voltage is above a value.

        Parameters
        ----------
        a, b : Node
            Between which it stands.
        control : tuple of Node
            The voltage of the first against the second counts.
        closes_at : float
            [V].
        on, off : float
            Resistance closed and open [ohm].
        """
        model = f"m{len(self._lines)}"
        self._lines.append(
            f".model {model} sw(vt={number(closes_at)} vh=0.0 ron={_positive(on)} roff={_positive(off)})"
        )
        return self._add("s", a, b, f"{_name(control[0])} {_name(control[1])} {model} off")

    def timed_switch(
        self, a: Node, b: Node, *, closes: float, opens: float | None = None, on: float, off: float
    ) -> Branch:
        """Put a switch between two nodes that closes, and may open again, at given times.

        Parameters
        ----------
        a, b : Node
            Between which it stands.
        closes, opens : float
            When [s]; it stays closed without the latter. Closing at 0 is closed from the start.
        on, off : float
            Resistance closed and open [ohm].
        """
        points = [(0.0, 1.0)] if closes <= 0 else [(0.0, 0.0), *_ramp(closes, 0.0, 1.0)]
        if opens is not None:
            points += _ramp(opens, 1.0, 0.0)
        times = [time for time, _ in points]
        if any(later <= earlier for earlier, later in pairwise(times)):
            raise _refused(f"a switch that closes at {closes} s and opens at {opens} s, within {EDGE} s")
        control = self.node()
        shape = " ".join(number(value) for point in points for value in point)
        self._add("v", control, GROUND, f"pwl({shape})" if len(points) > 1 else f"dc {number(points[0][1])}")
        return self.switch(a, b, (control, GROUND), closes_at=0.5, on=on, off=off)

    def arc(
        self, a: Node, b: Node, *, strikes: float, drop_volt: float, ohm: float, off: float = 1e9
    ) -> Branch:
        """Put an arc between two nodes: a constant drop from the moment it strikes, out when no current is left.

        Parameters
        ----------
        a, b : Node
            The current flows from the first to the second only.
        strikes : float
            When [s].
        drop_volt : float
            [V].
        ohm, off : float
            In series with the drop, and before it strikes [ohm].

        Notes
        -----
        A timed switch, a diode of a few millivolts and a source in series.
        """
        inner, behind = self.node(), self.node()
        branch = self.timed_switch(a, inner, closes=strikes, on=ohm, off=off)
        self.diode(inner, behind, Diode(_ARC_SATURATION, _ARC_EMISSION))
        self.voltage(behind, b, drop_volt)
        return branch

    def render(
        self, step: float, stop: float, begin: float, record: Sequence[Node | Branch], uic: bool
    ) -> str:
        """Write the netlist; parameters as in `run_transient`, errors as in ``netlist.text``."""
        lines = [TITLE]
        for index, (start, line) in enumerate(self._parts):
            if Branch(index) in record:
                lines.append(f"vsense{index} {_name(start)} sense{index} 0")
                lines.append(line.format(a=f"sense{index}"))
            else:
                lines.append(line.format(a=_name(start)))
        saved = (f"v({_vector(p)})" if isinstance(p, Node) else f"i(vsense{p.index})" for p in record)
        times = " ".join(map(number, (step, stop, begin, step)))
        lines += self._lines
        lines += [f".save {entry}" for entry in saved]
        lines += [f".tran {times}{' uic' if uic else ''}", ".end"]
        return text(lines)

    def _add(self, letter: str, a: Node, b: Node, value: str) -> Branch:
        index = len(self._parts)
        self._parts.append((a, f"{letter}{index} {{a}} {_name(b)} {value}"))
        return Branch(index)


def run_transient(
    circuit: Circuit,
    step: float,
    stop: float,
    record: Sequence[Node | Branch],
    *,
    begin: float = 0.0,
    use_initial_conditions: bool = True,
) -> Waves:
    """Solve a circuit over time.

    Parameters
    ----------
    circuit : Circuit
        Every node of it with a way to ground.
    step : float
        Longest step [s].
    stop : float
        End [s]; the start is 0.
    record : sequence of Node or Branch
        Whose voltages to ground and currents are wanted.
    begin : float
        From when on they are [s].
    use_initial_conditions : bool
        Whether to start from the initial voltages and currents of the parts, zero where none is given; else
        from the DC operating point, without them.

    Returns
    -------
    Waves
        Integrated by the trapezoidal rule, steps shortened where the engine's error estimate asks for it.

    Raises
    ------
    EngineMissingError, EngineFailedError
        As `spice.transient`; also for a value that is not finite.
    """
    if not 0 <= begin < stop or not 0 < step < stop:
        raise _refused(f"steps of {step} s from {begin} s to {stop} s")
    places = list(dict.fromkeys(place for place in record if place != GROUND))
    netlist = circuit.render(step, stop, begin, places, use_initial_conditions)
    vectors = spice.transient(netlist, step, stop, [_vector(place) for place in places])
    values = {place: vectors[_vector(place)] for place in places}
    if GROUND in record:
        values[GROUND] = np.zeros_like(vectors["time"])
    return Waves(vectors["time"], values)


def _name(node: Node) -> str:
    return "0" if node == GROUND else f"n{node.index}"


def _vector(place: Node | Branch) -> str:
    return _name(place) if isinstance(place, Node) else f"vsense{place.index}#branch"


def _ramp(middle: float, low: float, high: float) -> list[tuple[float, float]]:
    return [(middle - EDGE / 2, low), (middle + EDGE / 2, high)]


def _positive(value: float) -> str:
    if not (math.isfinite(value) and value > 0):
        raise _refused(f"a part of {value}, which must be finite and above zero")
    return number(value)


def _refused(message: str) -> EngineFailedError:
    return EngineFailedError(
        Problem("netlist_refused", f"{message}; please report this as a fault of netsim")
    )
