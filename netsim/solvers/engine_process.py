"""ngspice in a process of its own: started, asked, given a limited time, ended."""

import contextlib
import json
import os
import secrets
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, NoReturn

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.errors import EngineFailedError, EngineMissingError, Problem
from netsim.solvers.engine_program import read_answer, write_message

STARTING_SECONDS = 60.0
"""The engine starts in a third of a second."""

AHEAD = 32
"""Requests sent before the first answer is read, so that the engine never waits and never holds many."""

_SLICE = 0.25  # [s]
_GRACE = 2.0  # to leave when its pipe is closed [s]
_TAIL = 2000  # kept of what is printed [bytes]
_PROGRAM = "import sys; sys.path += sys.argv[1:]; from netsim.solvers.engine_program import main; main()"
_KEPT_VARIABLES = (
    "NGSPICE_LIBRARY_PATH",
    "LD_LIBRARY_PATH",
    "DYLD_LIBRARY_PATH",
    "DYLD_FALLBACK_LIBRARY_PATH",
    "SYSTEMROOT",
)

Vectors = Mapping[str, FloatArray | ComplexArray]


@dataclass(frozen=True)
class Job:
    """One netlist to solve.

    Attributes
    ----------
    netlist : str
        With its analysis.
    vectors : sequence of str
        Names of those wanted.
    seconds : float
        How long the engine may take [s].
    """

    netlist: str
    vectors: Sequence[str]
    seconds: float


class _Limit:
    """Seconds that something may take."""

    def __init__(self, seconds: float) -> None:
        self.seconds = self._left = seconds

    def passes_with(self, seconds: float) -> bool:
        """Take some more off; tell whether none is left."""
        self._left -= seconds
        return self._left <= 0


class EngineProcess:
    """Hold one running engine.

    Parameters
    ----------
    program : sequence of str, optional
        Command line of another program than the engine's own, which tests use.
    starting_seconds : float
        How long it may take to start [s].

    Notes
    -----
    It has its own session, so that Ctrl-C at the terminal reaches its parent alone; pipes for all streams; an
    environment of a few variables; and of Python neither start-up files nor the current folder. It ends by
    itself when its parent does, because its pipe then closes.
    """

    def __init__(
        self, program: Sequence[str] | None = None, *, starting_seconds: float = STARTING_SECONDS
    ) -> None:
        self._owed = deque([starting_seconds])  # how long each answer that is due may take [s]
        self._said = b""
        self._limit: _Limit | None = None
        self._passed: _Limit | None = None
        self._closing = threading.Event()
        self._ready: tuple[str, str] | None = None
        try:
            self._home = os.path.join(tempfile.gettempdir(), f"netsim-{secrets.token_hex(8)}")
            self._process = subprocess.Popen(
                program or _command(),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                env=_environment(self._home),
                start_new_session=True,
            )
        except OSError as error:
            raise _failed(f"its process cannot be started: {error.strerror or error}") from error
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        assert self._process.stderr is not None
        self._requests: IO[bytes] = self._process.stdin
        self._answers: IO[bytes] = self._process.stdout
        self._errors: IO[bytes] = self._process.stderr
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()
        threading.Thread(target=self._watch, daemon=True).start()

    @property
    def version(self) -> str:
        """Return the engine's version, such as ``"39"``; waits until it has started, and raises if it cannot."""
        return self._started()[0]

    @property
    def library(self) -> str:
        """Return the name or path of the library that was loaded; waits and raises likewise."""
        return self._started()[1]

    @property
    def usable(self) -> bool:
        """Return whether it runs and owes no answer, which the next job would get."""
        return not self._owed and not self.ended

    @property
    def ended(self) -> bool:
        """Return whether the process is no more."""
        return self._process.poll() is not None

    def answers(self, jobs: Iterable[Job]) -> Iterator[Vectors]:
        """Solve netlists one after the other.

        Parameters
        ----------
        jobs : iterable of Job
            Drawn a few ahead of the answers.

        Yields
        ------
        mapping of str to ndarray
            For each job in order: the vectors wanted that there are.

        Raises
        ------
        EngineMissingError
            If the library is not found.
        EngineFailedError
            If the engine refuses a netlist, takes too long, or ends.
        """
        self._started()
        for job in jobs:
            self._send(job)
            if len(self._owed) == AHEAD:
                yield self._receive()
        while self._owed:
            yield self._receive()

    def close(self) -> None:
        """End the process and wait for its end."""
        self._closing.set()
        with contextlib.suppress(OSError):
            self._requests.close()
        try:
            self._process.wait(_GRACE)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._answers.close()
        self._listener.join(_GRACE)  # another process that the engine started may hold the pipe open
        if not self._listener.is_alive():
            self._errors.close()
        shutil.rmtree(self._home, ignore_errors=True)

    def forget(self) -> None:
        """Let go of the pipes, in a copy of this process that was made by forking; the engine is its parent's."""
        for stream in (self._requests, self._answers, self._errors):
            with contextlib.suppress(OSError):
                stream.close()
        self._process.returncode = 0  # or it would be waited for, and is not ours

    def _started(self) -> tuple[str, str]:
        if self._ready is None:
            head, _ = self._answer()
            if "failure" in head:
                problem = Problem(str(head.get("code")), str(head["failure"]))
                missing = problem.code == "engine_missing"
                raise EngineMissingError(problem) if missing else EngineFailedError(problem)
            self._owed.popleft()
            self._ready = str(head["version"]), str(head["library"])
        return self._ready

    def _send(self, job: Job) -> None:
        self._owed.append(job.seconds)
        request = json.dumps({"netlist": job.netlist, "vectors": list(job.vectors)}).encode()
        try:
            with self._limited(job.seconds):
                write_message(self._requests, request)
        except OSError:
            self._raise_end()

    def _receive(self) -> Vectors:
        head, numbers = self._answer()
        try:
            vectors = {} if "failure" in head else _unpacked(head.get("vectors"), numbers)
        except (TypeError, ValueError) as error:
            raise _failed(f"its answer cannot be read ({error})") from error
        self._owed.popleft()
        if "failure" in head:
            raise EngineFailedError(Problem("engine_failed", str(head["failure"])))
        return vectors

    def _answer(self) -> tuple[dict[str, object], bytes]:
        try:
            with self._limited(self._owed[0]):
                answer = read_answer(self._answers)
        except ValueError as error:
            raise _failed(f"its answer cannot be read ({error})") from error
        if answer is None:
            self._raise_end()
        return answer

    @contextlib.contextmanager
    def _limited(self, seconds: float) -> Iterator[None]:
        """Kill the engine if this takes longer.

        Time is counted in slices during which this process runs: a computer that slept, or a job that was
        stopped at the terminal, is no engine that hangs.
        """
        self._limit = _Limit(seconds)
        try:
            yield
        finally:
            self._limit = None

    def _watch(self) -> None:
        """Kill the engine once the limit that stands has passed."""
        while not self._closing.wait(_SLICE):
            limit = self._limit
            if limit is not None and limit.passes_with(_SLICE):
                self._passed = limit
                self._process.kill()
                return

    def _raise_end(self) -> NoReturn:
        """Say how the engine ended; its pipe has closed."""
        if self._passed is not None:
            raise _failed(f"it gave no answer within {self._passed.seconds:g} s, so its process was ended")
        try:
            status = self._process.wait(_GRACE)
        except subprocess.TimeoutExpired:
            raise _failed("it closed its pipe and runs on without an answer") from None
        self._listener.join(_GRACE)
        lines = self._said.decode(errors="replace").strip().splitlines()
        said = f"; the last it printed was: {lines[-1][:200]}" if lines else ""
        raise _failed(f"its process ended without an answer, {_how(status)}{said}")

    def _listen(self) -> None:
        """Take in what the engine prints, so that its pipe never fills; keep the end of it."""
        while piece := os.read(self._errors.fileno(), 4096):
            self._said = (self._said + piece)[-_TAIL:]


def _command() -> list[str]:
    """Write the command line: this Python, without what it reads from environment, folders and site."""
    if not sys.executable:
        raise _failed("this Python does not know its own program, which its process needs")
    quiet = ["-B"] if sys.dont_write_bytecode else []
    return [sys.executable, "-I", "-S", "-X", "utf8", *quiet, "-c", _PROGRAM, *_import_path()]


def _import_path() -> list[str]:
    """List where this process finds its packages, without the current folder unless netsim itself is there."""
    own = str(Path(__file__).parents[2])
    try:
        here = os.path.realpath(os.getcwd())
    except OSError:  # it was deleted
        here = ""
    strange = here != os.path.realpath(own)
    listed = [entry for entry in sys.path if os.path.isabs(entry)]
    return [*(entry for entry in listed if not (strange and os.path.realpath(entry) == here)), own]


def _environment(home: str) -> dict[str, str]:
    """List all variables that the engine gets; it has one thread, so that numbers do not depend on their count."""
    kept = (*_KEPT_VARIABLES, "PATH") if os.name == "nt" else _KEPT_VARIABLES
    return {name: os.environ[name] for name in kept if name in os.environ} | {
        "HOME": home,
        "LC_ALL": "C",
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }


def _unpacked(described: object, numbers: bytes) -> dict[str, FloatArray | ComplexArray]:
    """Read the vectors out of an answer; ValueError if it does not hold what it announces."""
    vectors: dict[str, FloatArray | ComplexArray] = {}
    at = 0
    if not isinstance(described, list):
        raise ValueError("no vectors")
    for name, kind, length in described:
        if kind not in ("<f8", "<c16", ">f8", ">c16"):
            raise ValueError(f"numbers of the kind {kind}")
        vectors[str(name)] = np.frombuffer(numbers, kind, length, at)
        at += vectors[str(name)].nbytes
    if at != len(numbers):
        raise ValueError(f"{len(numbers)} bytes instead of {at}")
    return vectors


def _how(status: int) -> str:
    if status >= 0:
        return f"with exit status {status}"
    try:
        return f"killed by {signal.Signals(-status).name}"
    except ValueError:
        return f"killed by signal {-status}"


def _failed(message: str) -> EngineFailedError:
    return EngineFailedError(Problem("engine_failed", f"ngspice failed: {message}"))
