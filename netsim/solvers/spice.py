"""ngspice, in this process, through PySpice: guarded against the ways in which it fails silently."""

import locale
import logging
import re
import threading
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.ladder import Ladder
from netsim.errors import EngineFailedError, Problem
from netsim.solvers.library import find_library
from netsim.solvers.netlist import SubNetwork, render
from netsim.solvers.solution import Solution

# PySpice logs every stderr line of the engine; what matters is raised below, so keep its log quiet
# without touching the application's own logging.
logging.getLogger("PySpice").addHandler(logging.NullHandler())
with warnings.catch_warnings():
    # Its sources hold escapes that Python 3.12 and later warn about on first compilation.
    warnings.filterwarnings("ignore", category=SyntaxWarning)
    from PySpice.Spice.NgSpice.Shared import NgSpiceShared

_BENIGN = re.compile(
    r"""\s*(
        Warning: | Note: | Using\ (SPARSE|KLU) | No\ compatibility\ mode | Supplies\ reduced
        | (Trying|Starting|Finished|Completed|Dynamic|True|One\ successful)\b.*\b(gmin|source|stepping)
        | \w*\ ?(gmin|source)\ stepping | Reducing\ trtol | Doing\ analysis | $
    )""",
    re.VERBOSE | re.IGNORECASE,
)
_FATAL = re.compile(r"resistance to low|singular|error|can't|cannot|unknown|failed|aborted", re.IGNORECASE)

_lock = threading.Lock()


@contextmanager
def _session() -> "Iterator[_Engine]":
    """Have the engine alone, and numbers with a decimal point.

    The engine reads numbers by the process's locale, and sets it to C when it is loaded: a program with
    a decimal comma would get a refusal, and lose its commas. So it is set here and put back.
    """
    with _lock:
        before = locale.setlocale(locale.LC_NUMERIC)
        try:
            locale.setlocale(locale.LC_NUMERIC, "C")
            yield _engine()
        finally:
            locale.setlocale(locale.LC_NUMERIC, before)


def is_harmless(line: str) -> bool:
    """Tell whether a line that ngspice wrote to stderr leaves the result intact.

    Parameters
    ----------
    line : str
        Without the leading ``stderr``.

    Notes
    -----
    Known openings are harmless, except a warning that a value was replaced (a zero resistance becomes
    1 milliohm); whatever is not known counts as fatal.
    """
    if "can't find init file" in line or "can't find the initialization file" in line:
        return True
    return bool(_BENIGN.match(line)) and not _FATAL.search(line)


class _Engine(NgSpiceShared):  # type: ignore[misc]
    """PySpice's binding, which raises on a rejected netlist instead of running the one before."""

    LIBRARY_PATH = "{}"

    def __init__(self) -> None:
        self.complaints: list[str] = []
        super().__init__()

    @property
    def library_path(self) -> str:
        return find_library()

    def send_char(self, message: str, ngspice_id: int) -> int:
        """Sort the engine's messages; PySpice's own flag would condemn harmless notes."""
        stream, _, line = message.partition(" ")
        if stream == "stderr" and not is_harmless(line):
            self.complaints.append(line.strip())
        self._error_in_stderr = bool(self.complaints)
        return 0

    def analyse(self, netlist: str, frequencies: FloatArray) -> dict[str, ComplexArray]:
        """Load a netlist, run its analysis and take the vectors.

        Parameters
        ----------
        netlist : str
            With an ``.ac`` line for exactly `frequencies` [Hz].

        Returns
        -------
        dict of str to ndarray
            Every vector by its lower-case name, shape ``(frequencies,)``.

        Raises
        ------
        EngineFailedError
            If the engine complains, or its frequencies are not those asked for.
        """
        vectors = self.run_alone(netlist)
        got = np.real(vectors.get("frequency", np.empty(0)))
        if got.shape != frequencies.shape or not np.allclose(got, frequencies, rtol=1e-9):
            raise self._failure(f"asked for the frequencies {frequencies} Hz and got {got} Hz")
        return vectors

    def run_alone(self, netlist: str) -> dict[str, ComplexArray]:
        """Load a netlist, run what it asks for, take the vectors and leave nothing behind."""
        self.complaints.clear()
        loaded = False
        try:
            self.load_circuit(netlist)
            self._raise_complaints()
            loaded = True
            self.exec_command("run")
            self._raise_complaints()
            name = self.last_plot
            plot = self.plot(None, name)
            vectors = {key.lower(): np.asarray(vector._data) for key, vector in plot.items()}
        except (NameError, ValueError) as refusal:  # what PySpice raises for the engine
            raise self._failure(str(refusal)) from refusal
        finally:
            self._clean(loaded)
        return vectors

    def _clean(self, loaded: bool) -> None:
        """Drop circuit and vectors: a circuit left behind would answer for the next one, and leak."""
        complaints = list(self.complaints)
        for command in ["destroy all", *(["remcirc"] if loaded else [])]:
            self.complaints.clear()
            self.exec_command(command)
        self.complaints[:] = complaints

    def _raise_complaints(self) -> None:
        if self.complaints:
            raise self._failure("")

    def _failure(self, reason: str) -> EngineFailedError:
        said = "; ".join(self.complaints) or reason or "no message"
        return EngineFailedError(Problem("engine_failed", f"ngspice did not solve the circuit: {said}"))


@cache
def _engine() -> _Engine:
    """Start the engine; a process can have one only."""
    return _Engine()


def version() -> str:
    """Give the engine's version, such as ``"39"``."""
    with _session() as engine:
        return str(engine.ngspice_version)


def transient(netlist: str, stop: float) -> dict[str, FloatArray]:
    """Run a netlist's transient analysis.

    Parameters
    ----------
    netlist : str
        With a ``.tran`` line that ends at `stop` [s].

    Returns
    -------
    dict of str to ndarray
        Every vector by its lower-case name, ``time`` [s] among them; all of one length, not evenly spaced.

    Raises
    ------
    EngineMissingError, EngineFailedError
        As in `solve`; also if the analysis ended early or a value is not finite.
    """
    with _lock:
        vectors = _engine().run_alone(netlist)
    found = {name: np.real(values) for name, values in vectors.items()}
    time = found.get("time", np.empty(0))
    if not time.size or abs(time[-1] - stop) > 1e-6 * stop:
        raise EngineFailedError(
            Problem("engine_failed", f"ngspice ended the transient analysis before its end at {stop:.4g} s")
        )
    if not all(np.isfinite(values).all() for values in found.values()):
        raise EngineFailedError(
            Problem("engine_failed", "ngspice gave a transient with values that are no numbers")
        )
    return found


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
        If ngspice refuses or returns something else than asked for.

    Notes
    -----
    All orders of a network stand side by side in one circuit, each with the resistances of its order,
    and are read at that order alone. Shunt currents come from 0 V sources in series.
    """
    count = len(orders)
    if not np.array_equal(orders, np.arange(1, count + 1)) or count == 2:
        raise EngineFailedError(Problem("engine_failed", f"orders must be 1 to n, n not 2; got {orders}"))
    drives = [1.0 + 0j] * count if drive is None else list(drive)
    shape = (len(ladder), count)
    voltages = {node: np.zeros(shape, dtype=np.complex128) for node in ladder.nodes}
    currents = {branch.name: np.zeros(shape, dtype=np.complex128) for branch in ladder.branches}
    for row, single in enumerate(ladder.singles()):
        subs = [SubNetwork(f"n{n + 1}", single, float(orders[n]), drives[n]) for n in range(count)]
        frequency = float(single.frequency[0])
        netlist = render(subs, frequency, count)
        with _session() as engine:
            vectors = engine.analyse(netlist, frequency * orders)
        for column, sub in enumerate(subs):
            for node in single.nodes:
                voltages[node][row, column] = vectors[sub.node(node)][column]
            for branch in single.branches:
                currents[branch.name][row, column] = vectors[f"{sub.sense(branch.name)}#branch"][column]
    return Solution(orders, voltages, currents)
