"""Engines that hang, crash or lie, put in the place of the real one; and a look at processes."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

from netsim.solvers import engine_process, spice
from netsim.solvers.engine_process import EngineProcess

_PROGRAM = """
import sys; sys.path += sys.argv[1:]
import os, signal, time
import numpy as np
from netsim.errors import EngineFailedError, Problem
from netsim.solvers import engine_program, ngspice
from netsim.solvers.engine_program import write_answer, write_message
real = ngspice.Ngspice.run_alone
def tell(what):
    raise EngineFailedError(Problem("engine_failed", str(what)))
def waves(change):
    'Let every run over time go through `change(vectors, netlist)`.'
    runs(lambda vectors, netlist: change(vectors, netlist) if "time" in vectors else None)
def phasors(change):
    'Let every run over frequency go through it.'
    runs(lambda vectors, netlist: change(vectors, netlist) if "frequency" in vectors else None)
def runs(change):
    def run(engine, netlist, names):
        vectors = real(engine, netlist, names)
        change(vectors, netlist)
        return vectors
    ngspice.Ngspice.run_alone = run
{body}
engine_program.main()
"""


def command(body: str) -> list[str]:
    """Return the command line of the real engine's program with some statements before it begins."""
    real = engine_process._command()
    place = real.index("-c") + 1
    return [*real[:place], _PROGRAM.replace("{body}", body), *real[place + 1 :]]


def fake(body: str, *before: str, starting_seconds: float = 60.0) -> EngineProcess:
    """Start one, with words before its command line."""
    return EngineProcess([*before, *command(body)], starting_seconds=starting_seconds)


@contextmanager
def in_its_place(start: Callable[[], EngineProcess], seconds: float = 60.0) -> Iterator[None]:
    """Let the whole product work with another engine."""
    spice._end()
    with mock.patch.object(spice, "_new_process", start), mock.patch.object(spice, "SECONDS", seconds):
        try:
            yield
        finally:
            spice._end()


@contextmanager
def engine(body: str, seconds: float = 60.0) -> Iterator[None]:
    """Let the whole product work with an engine that runs these statements first."""
    with in_its_place(lambda: fake(body), seconds):
        yield


def is_there(pid: int) -> bool:
    """Return whether a process runs, not counting one that nobody has waited for."""
    try:
        return "\nState:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return False


def wait_for(done: Callable[[], object]) -> None:
    """Wait until something has come true, a minute at most."""
    for _ in range(6000):
        if done():
            return
        time.sleep(0.01)
    raise AssertionError("it did not come to pass within a minute")
