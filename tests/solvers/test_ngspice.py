"""What ngspice and PySpice do silently, trap by trap, with the library in this process."""

import gc
import os
from pathlib import Path

import numpy as np
import pytest
from PySpice.Spice.NgSpice.Shared import NgSpiceShared, ffi

from netsim.errors import EngineFailedError
from netsim.solvers.library import find_library
from netsim.solvers.ngspice import Ngspice, is_harmless

GOOD = "title\ni1 0 a ac 1\nr1 a 0 50\n.options noopac\n.ac lin 1 1e6 1e6\n.end\n"
OTHER = GOOD.replace("r1 a 0 50", "r1 a 0 70")
REJECTED = GOOD.replace("r1 a 0 50", "x1 a 0 nowhere")


@pytest.fixture(scope="module")
def engine() -> Ngspice:
    """Load the one that a process can have."""
    return Ngspice(find_library())


def is_right(engine: Ngspice) -> bool:
    """Solve 1 A through 50 ohm, 50 V by Ohm's law."""
    found = engine.run_alone(GOOD, ["frequency", "a"])
    return bool(found["frequency"].real == [1e6] and abs(found["a"] - 50.0) < 1e-9)


# A rejected netlist must not be answered by the circuit before it.
def test_rejected_netlist_raises_and_leaves_nothing_behind(engine):
    assert is_right(engine)
    with pytest.raises(EngineFailedError, match=r"ngspice did not solve the circuit.*unknown subckt"):
        engine.run_alone(REJECTED, ["a"])
    assert engine.run_alone(OTHER, ["a"])["a"] == pytest.approx([70.0])
    assert is_right(engine)


def test_the_engine_does_answer_with_the_circuit_before(engine):
    # Shows that the trap is there: without raising on the errors, the old circuit's numbers come back.
    engine.load_circuit(GOOD)
    engine.exec_command("run")
    engine.load_circuit(REJECTED)
    assert any("unknown subckt" in line for line in engine.errors)
    engine.errors.clear()
    engine.exec_command("run")
    stale = np.asarray(engine.plot(None, engine.last_plot)["a"]._data)
    engine._clean(True)
    assert stale == pytest.approx([50.0])
    assert is_right(engine)


def test_nothing_is_loaded_after_an_analysis(engine):
    assert is_right(engine)
    with pytest.raises(NameError):
        engine.exec_command("run")
    engine.errors.clear()
    assert is_right(engine)


# Notes on stderr are harmless if known, fatal if not.
NOTES = [  # From memory: what builds 39 to 44 were seen to say.
    "Using SPARSE 1.3 as Direct Linear Solver",
    "Using KLU as Direct Linear Solver",
    "Note: No compatibility mode selected!",
    "No compatibility mode selected!",
    "Note: Starting dynamic gmin stepping",
    "Trying gmin =   1.0000E-03",
    "Note: One successful gmin step",
    "Note: Dynamic gmin stepping completed",
    "Note: Starting source stepping",
    "Supplies reduced to   0.0000%",
    "Note: can't find init file.",
    "",
]


@pytest.mark.parametrize("note", NOTES)
def test_notes_of_newer_builds_are_harmless(engine, note, monkeypatch):
    inject(engine, monkeypatch, note)
    assert is_harmless(note)
    assert is_right(engine)


@pytest.mark.parametrize(
    "note",
    [
        "Error: something is wrong",
        "an opening nobody has seen before",
        "Warning: vn1: resistance to low, set to 1 mOhm",
        "Warning: singular matrix:  check node a",
        "doAnalyses: TRAN:  Timestep too small",
        "Note: analysis aborted",
    ],
)
def test_unknown_lines_are_fatal(engine, note, monkeypatch):
    inject(engine, monkeypatch, note)
    with pytest.raises(EngineFailedError) as caught:
        engine.run_alone(GOOD, ["a"])
    assert note in str(caught.value)
    monkeypatch.undo()
    assert is_right(engine)


def inject(engine: Ngspice, monkeypatch: pytest.MonkeyPatch, note: str) -> None:
    """Let the engine say this, through the binding's own callback, while it runs the analysis."""
    whole = engine._ngspice_shared
    handle = ffi.new_handle(engine)

    class Chatty:
        def __getattr__(self, name):
            return getattr(whole, name)

        def ngSpice_Command(self, command):  # noqa: N802
            status = whole.ngSpice_Command(command)
            if command == b"run":
                message = ffi.new("char[]", f"stderr {note}".encode())
                NgSpiceShared._send_char(message, 0, handle)
            return status

    monkeypatch.setattr(engine, "_ngspice_shared", Chatty())


# Two points are one point.
def test_two_points_are_one(engine):
    """Shows that the trap is there, which `spice.solve` guards against by comparing frequencies."""
    two = GOOD.replace(".ac lin 1 1e6 1e6", ".ac lin 2 1e6 2e6")
    assert len(engine.run_alone(two, ["frequency"])["frequency"]) == 1


def test_vectors_as_the_binding_itself_reads_them(engine):
    """Cross-check: real over time, complex over frequency; what is not there is refused."""
    netlist = "title\nv1 a 0 sin(0 1 1k)\nr1 a b 1k\nc1 b 0 1u\n.tran 1u 1m\n.end\n"
    found = engine.run_alone(netlist, ["time", "b", "v1#branch"])
    assert sorted(found) == ["b", "time", "v1#branch"]
    assert {values.dtype for values in found.values()} == {np.dtype(float)}
    engine.load_circuit(netlist)
    engine.exec_command("run")
    plot = engine.plot(None, engine.last_plot)
    for name, values in found.items():
        np.testing.assert_array_equal(values, np.asarray(plot[name]._data))
    engine._clean(True)
    assert engine.run_alone(GOOD, ["a"])["a"].dtype == np.dtype(complex)
    with pytest.raises(EngineFailedError, match="nosuch"):
        engine.run_alone(GOOD, ["a", "nosuch"])
    assert is_right(engine)


def resident() -> float:
    """Memory of this process [MB]."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="needs /proc")
def test_ten_thousand_solves_do_not_leak(engine):
    def many(count: int) -> None:
        for _ in range(count):
            engine.run_alone(GOOD, ["frequency", "a"])

    many(500)
    gc.collect()
    before = resident()
    many(10_000)
    gc.collect()
    assert resident() - before < 20
