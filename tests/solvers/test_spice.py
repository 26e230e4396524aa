"""What ngspice and PySpice do silently, trap by trap. Expected values come from the batch solver."""

import gc
import os
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySpice.Spice.NgSpice.Shared import NgSpiceShared, ffi
from samples import network

from netsim.circuit.elements import Branch, Inductor
from netsim.circuit.ladder import Ladder
from netsim.circuit.topology import build_ladder
from netsim.errors import EngineFailedError
from netsim.solvers import batch, spice
from netsim.solvers.agreement import worst_relative

ORDERS = np.arange(1.0, 11.0)
GOOD = "title\ni1 0 a ac 1\nr1 a 0 50\n.options noopac\n.ac lin 1 1e6 1e6\n.end\n"
REJECTED = GOOD.replace("r1 a 0 50", "x1 a 0 nowhere")
ONE = np.array([1e6])


def pi(coil: float = 5e-6, **values: float) -> Ladder:
    return build_ladder(network(coil=coil, **values), np.array([1e-10]), np.array([5e-10]))


def is_right(ladder: Ladder, orders: np.ndarray = ORDERS) -> bool:
    return bool(worst_relative(spice.solve(ladder, orders), batch.solve(ladder, orders)).max() < 1e-9)


def analyse(netlist: str, frequencies: np.ndarray = ONE):
    with spice._session() as engine:
        return engine.analyse(netlist, frequencies)


# 1. A rejected netlist must not be answered by the circuit before it.
def test_rejected_netlist_raises_and_leaves_nothing_behind():
    assert is_right(pi())
    with pytest.raises(EngineFailedError, match="ngspice did not solve the circuit"):
        analyse(REJECTED)
    other = pi(coil=7e-6)
    assert is_right(other)


def test_the_engine_does_answer_with_the_circuit_before():
    # Shows that the trap is there: without raising on the complaints, the old circuit's numbers come back.
    with spice._session() as engine:
        engine.load_circuit(GOOD)
        engine.exec_command("run")
        engine.load_circuit(REJECTED)
        assert any("unknown subckt" in line for line in engine.complaints)
        engine.complaints.clear()
        engine.exec_command("run")
        stale = np.asarray(engine.plot(None, engine.last_plot)["a"]._data)
        engine._clean(True)
    assert stale == pytest.approx([50.0])
    assert is_right(pi())


def test_nothing_is_loaded_after_an_analysis():
    analyse(GOOD)
    with spice._lock, pytest.raises(NameError):
        spice._engine().exec_command("run")
    spice._engine().complaints.clear()
    assert is_right(pi())


# 2. Notes on stderr are harmless if known, fatal if not.
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
def test_notes_of_newer_builds_are_harmless(note, monkeypatch):
    inject(monkeypatch, note)
    assert is_right(pi())


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
def test_unknown_lines_are_fatal(note, monkeypatch):
    inject(monkeypatch, note)
    with pytest.raises(EngineFailedError) as caught:
        spice.solve(pi(), ORDERS)
    assert note in str(caught.value)
    monkeypatch.undo()
    assert is_right(pi())


def inject(monkeypatch: pytest.MonkeyPatch, note: str) -> None:
    """Let the engine say this, through the binding's own callback, while it runs the analysis."""
    engine = spice._engine()
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


# 3. Two points are one point.
def test_two_orders_are_refused():
    with pytest.raises(EngineFailedError, match="n not 2"):
        spice.solve(pi(), np.array([1.0, 2.0]))


@pytest.mark.parametrize("orders", [[2.0, 3.0, 4.0], [1.0, 2.5, 4.0], [0.5]])
def test_only_whole_orders_from_one(orders):
    with pytest.raises(EngineFailedError, match="orders must be 1 to n"):
        spice.solve(pi(), np.array(orders))


def test_other_frequencies_than_asked_for_are_noticed():
    two = GOOD.replace(".ac lin 1 1e6 1e6", ".ac lin 2 1e6 2e6")
    with pytest.raises(EngineFailedError, match="asked for the frequencies"):
        analyse(two, np.array([1e6, 2e6]))
    with pytest.raises(EngineFailedError, match="asked for the frequencies"):
        analyse(GOOD, np.array([1.001e6]))


@pytest.mark.parametrize("count", [1, 3, 10])
def test_other_counts_are_solved(count):
    assert is_right(pi(), np.arange(1.0, count + 1))


# 6. No DC path, and 7. branch currents of every kind.
def test_nodes_between_capacitors_have_no_dc_path():
    ladder = pi(blocking_capacitance=1e-9, suppressor_inductance=5e-8, suppressor_resistance=47.0)
    assert "tank" in ladder.nodes
    assert is_right(ladder)


def test_currents_of_all_branches_are_read():
    ladder = pi(output_capacitance=1e-11, suppressor_inductance=5e-8, suppressor_resistance=47.0)
    by_spice, by_batch = spice.solve(ladder, ORDERS), batch.solve(ladder, ORDERS)
    for name in ("output_capacitance", "suppressor", "tune_capacitor", "coil", "load_capacitor", "antenna"):
        np.testing.assert_allclose(by_spice.branch_current[name], by_batch.branch_current[name], rtol=1e-9)


# R = 0 silently becomes a milliohm.
def test_zero_resistance_is_a_wire():
    coil = Branch("coil", Inductor(np.array([5e-6]), np.array([0.0])), "tank", "output")
    ladder = pi()
    branches = tuple(replace(coil, node=b.node) if b.name == "coil" else b for b in ladder.branches)
    assert is_right(replace(ladder, branches=branches))


def test_zero_resistance_that_cannot_be_left_out_is_refused():
    with pytest.raises(EngineFailedError, match="1 milliohm"):
        spice.solve(pi(antenna_resistance=0.0), ORDERS)
    with pytest.raises(EngineFailedError, match="1 milliohm"):
        spice.solve(pi(suppressor_inductance=5e-8, suppressor_resistance=0.0), ORDERS)


# 8. One instance, many threads.
def test_one_engine_for_the_process():
    assert spice._engine() is spice._engine()


def test_threads_do_not_mix():
    ladders = [pi(coil=(2 + k) * 1e-6) for k in range(8)]
    with ThreadPoolExecutor(4) as pool:
        assert all(pool.map(is_right, ladders * 6))


# 10. Nothing on stderr, and nothing depends on the process's locale.
SOLVE = """
import locale, sys, warnings
warnings.simplefilter("error")
warnings.filterwarnings("ignore", category=SyntaxWarning)
if len(sys.argv) > 1:
    locale.setlocale(locale.LC_ALL, sys.argv[1])
    assert locale.localeconv()["decimal_point"] == ","
import numpy as np
from samples import network
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch, spice
from netsim.solvers.agreement import worst_relative
ladder = build_ladder(network(coil_q=123.4), np.array([1.234e-10]), np.array([5.678e-10]))
orders = np.arange(1.0, 11.0)
for _ in range(2):
    worst = worst_relative(spice.solve(ladder, orders), batch.solve(ladder, orders)).max()
    assert worst < 1e-9, worst
    assert len(sys.argv) == 1 or locale.localeconv()["decimal_point"] == ","
print(spice.version())
"""


def solve_elsewhere(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    here = str(Path(__file__).parent.parent)
    return subprocess.run(
        [sys.executable, "-c", SOLVE, *arguments],
        env=os.environ | {"PYTHONPATH": here} | environment,
        capture_output=True,
        text=True,
        timeout=60,
    )


def test_first_use_is_silent():
    run = solve_elsewhere()
    assert (run.returncode, run.stderr) == (0, "")
    assert run.stdout.strip() == spice.version()


@pytest.fixture
def comma(tmp_path):
    """Folder of a locale that writes a decimal comma, made here if the system can."""
    source = Path("/usr/share/i18n/locales/de_DE")
    if shutil.which("localedef") is None or not source.exists():
        pytest.skip("no localedef, or no definition of a locale with a decimal comma")
    target = tmp_path / "de_DE.utf8"
    made = subprocess.run(
        ["localedef", "-i", "de_DE", "-f", "UTF-8", str(target)], capture_output=True, text=True
    )
    assert target.exists(), made.stderr
    return tmp_path


def test_decimal_comma_of_the_locale_changes_nothing(comma):
    run = solve_elsewhere("de_DE.utf8", LOCPATH=str(comma))
    assert run.returncode == 0, run.stderr


def resident() -> float:
    """Memory of this process [MB]."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="needs /proc")
def test_ten_thousand_solves_do_not_leak():
    def many(count: int) -> None:
        parts = network(coil=np.linspace(4e-6, 6e-6, count), coil_q=200.0)
        ladder = build_ladder(parts, np.array([1e-10]), np.array([5e-10]))
        solution = spice.solve(ladder, np.ones(1))
        assert np.isfinite(solution.plate_impedance).all()

    many(500)
    gc.collect()
    before = resident()
    for _ in range(10):
        many(1000)
    gc.collect()
    assert resident() - before < 20
