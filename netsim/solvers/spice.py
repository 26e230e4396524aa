"""Ladders solved by ngspice: netlists to its process, voltages and currents out of its vectors."""

import atexit
import os
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.ladder import Ladder
from netsim.errors import EngineFailedError, Problem
from netsim.solvers.engine_process import EngineProcess, Job, Vectors
from netsim.solvers.netlist import SubNetwork, render
from netsim.solvers.solution import Solution

SECONDS = 60.0
SECONDS_PER_STEP = 1e-3
"""What the engine may take for a netlist, and for each step over time [s]: a hundred times what it takes."""

_new_process = EngineProcess
_running: EngineProcess | None = None
_lock = threading.Lock()


def start() -> None:
    """Start the engine, so that it is ready when it is asked; what cannot start is tried and told then."""
    with _lock, suppress(EngineFailedError):
        _start()


def version() -> str:
    """Return the engine's version, such as ``"39"``; raises EngineMissingError or EngineFailedError."""
    with _engine() as engine:
        return engine.version


def library() -> str:
    """Return the name or path of the library in use; raises EngineMissingError or EngineFailedError."""
    with _engine() as engine:
        return engine.library


def solve(ladder: Ladder, orders: FloatArray, drive: Sequence[complex] | None = None) -> Solution:
    """Solve every network of a ladder at orders 1 to n.

    Parameters
    ----------
    ladder : Ladder
        Of ``networks`` networks.
    orders : ndarray
        ``[1, 2, ..., n]``, shape ``(orders,)``; n = 2 alone is refused by ngspice's own grid.
    drive : sequence of complex, optional
        Current into the plate at each order [A peak]; 1 A by default.

    Returns
    -------
    Solution
        Arrays of shape ``(networks, orders)``.

    Raises
    ------
    EngineMissingError
        If the library is not found.
    EngineFailedError
        If ngspice refuses, hangs, ends, or returns something else than asked for.

    Notes
    -----
    All orders of a network stand side by side in one circuit, each with the resistances of its order,
    and are read at that order alone. Shunt currents come from 0 V sources in series. Several networks in
    one circuit would not be faster: the engine's time goes with the lines.
    """
    count = len(orders)
    if not np.array_equal(orders, np.arange(1, count + 1)) or count == 2:
        raise EngineFailedError(Problem("engine_failed", f"orders must be 1 to n, n not 2; got {orders}"))
    drives = [1.0 + 0j] * count if drive is None else list(drive)
    shape = (len(ladder), count)
    voltages = {node: np.zeros(shape, dtype=np.complex128) for node in ladder.nodes}
    currents = {branch.name: np.zeros(shape, dtype=np.complex128) for branch in ladder.branches}
    asked: deque[list[SubNetwork]] = deque()

    def jobs() -> Iterator[Job]:
        for single in ladder.singles():
            subs = [SubNetwork(f"n{k + 1}", single, float(orders[k]), drives[k]) for k in range(count)]
            names = [name for sub in subs for name in (*_voltages(sub).values(), *_currents(sub).values())]
            asked.append(subs)
            netlist = render(subs, float(single.frequency[0]), count)
            yield Job(netlist, ["frequency", *names], SECONDS)

    with _engine() as engine:
        for row, vectors in enumerate(engine.answers(jobs())):
            _demand_frequencies(vectors, ladder.frequency[row] * orders)
            for column, sub in enumerate(asked.popleft()):
                for node, name in _voltages(sub).items():
                    voltages[node][row, column] = _vector(vectors, name, count)[column]
                for branch, name in _currents(sub).items():
                    currents[branch][row, column] = _vector(vectors, name, count)[column]
    return Solution(orders, voltages, currents)


def transient(netlist: str, step: float, stop: float, names: Sequence[str]) -> dict[str, FloatArray]:
    """Run a netlist over time.

    Parameters
    ----------
    netlist : str
        With a ``.tran`` line that ends at `stop`.
    step : float
        Longest step of that line [s]; together with `stop` it says how long the engine may take.
    stop : float
        [s].
    names : sequence of str
        Vectors wanted beside ``time``: nodes, or ``NAME#branch`` for the current of a source or coil.

    Returns
    -------
    dict of str to ndarray
        The vectors wanted and ``time`` [s]; all of one length, not evenly spaced, finite.

    Raises
    ------
    EngineMissingError, EngineFailedError
        As in `solve`; also if the analysis ended early.
    """
    job = Job(netlist, ["time", *names], SECONDS + SECONDS_PER_STEP * stop / step)
    with _engine() as engine:
        (vectors,) = engine.answers([job])
    time = vectors.get("time", np.empty(0)).real
    if not time.size or not abs(time[-1] - stop) <= 1e-6 * stop or not (np.diff(time) >= 0).all():
        raise _failed(f"ngspice did not run the transient analysis to its end at {stop:.4g} s")
    return {name: _vector(vectors, name, time.size).real for name in ("time", *names)}


@contextmanager
def _engine() -> Iterator[EngineProcess]:
    """Have the engine alone; one that owes answers after a failure is ended, and the next call starts another."""
    with _lock:
        engine = _start()
        try:
            yield engine
        finally:
            if not engine.usable:
                _end()


def _start() -> EngineProcess:
    global _running
    if _running is not None and _running.ended:  # while nobody asked it anything
        _end()
    if _running is None:
        _running = _new_process()
    return _running


def _end() -> None:
    global _running
    if _running is not None:
        _running.close()
    _running = None


def _forget() -> None:
    """Leave the engine to the process that this one was copied from by forking."""
    global _running, _lock
    if _running is not None:
        _running.forget()
    _running, _lock = None, threading.Lock()


atexit.register(_end)
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget)


def _voltages(sub: SubNetwork) -> dict[str, str]:
    """Vectors of a sub-network's nodes."""
    return {node: sub.node(node) for node in sub.ladder.nodes}


def _currents(sub: SubNetwork) -> dict[str, str]:
    """Vectors of a sub-network's branches."""
    return {branch.name: f"{sub.sense(branch.name)}#branch" for branch in sub.ladder.branches}


def _demand_frequencies(vectors: Vectors, asked: FloatArray) -> None:
    got = np.real(vectors.get("frequency", np.empty(0)))
    if got.shape != asked.shape or not np.allclose(got, asked, rtol=1e-9, atol=0):
        raise _failed(f"ngspice was asked for the frequencies {asked} Hz and gave {got} Hz")


def _vector(vectors: Vectors, name: str, count: int) -> FloatArray | ComplexArray:
    values = vectors.get(name)
    if values is None or len(values) != count:
        got = "none" if values is None else len(values)
        raise _failed(f"ngspice was asked for {count} values of {name} and gave {got}")
    if not np.isfinite(values).all():
        raise _failed(f"ngspice gave values of {name} that are no numbers")
    return values


def _failed(message: str) -> EngineFailedError:
    return EngineFailedError(Problem("engine_failed", message))
