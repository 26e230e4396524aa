"""The engine's process: what it sees, how it ends, and what is said when it hangs, crashes or answers nonsense."""

import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from engines import engine, fake, in_its_place, is_there, wait_for
from samples import network

from netsim.circuit.topology import build_ladder
from netsim.errors import EngineFailedError, EngineMissingError
from netsim.solvers import batch, engine_process, spice
from netsim.solvers.agreement import worst_relative
from netsim.solvers.engine_process import EngineProcess, Job

ORDERS = np.arange(1.0, 4.0)
GOOD = "title\ni1 0 a ac 1\nr1 a 0 50\n.options noopac\n.ac lin 1 1e6 1e6\n.end\n"

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals and sessions as POSIX has them")


def solves() -> bool:
    """Whether a network comes out right."""
    ladder = build_ladder(network(), np.array([1e-10]), np.array([5e-10]))
    return bool(worst_relative(spice.solve(ladder, ORDERS), batch.solve(ladder, ORDERS)).max() < 1e-9)


def failure(body: str, seconds: float = 60.0) -> str:
    """Return what is said of an engine that does this; the real one works again afterwards."""
    with engine(body, seconds):
        with pytest.raises(EngineFailedError) as caught:
            solves()
        assert caught.value.status == 3
    assert solves()
    return str(caught.value)


DOES = "ngspice.Ngspice.run_alone = lambda *what: "


def test_a_fake_that_does_nothing_is_the_real_one():
    with engine(""):
        assert solves()


def test_it_hangs_while_it_solves():
    assert "it gave no answer within 1 s" in failure(DOES + "time.sleep(1e6)", seconds=1.0)


def test_it_hangs_and_takes_the_interpreter_with_it():
    """As a library does that spins before it is even loaded: no other thread of its process runs."""
    spin = "import ctypes\n" + DOES + "ctypes.PyDLL(None).pause()"
    assert "it gave no answer within 1 s" in failure(spin, seconds=1.0)


def test_it_hangs_while_it_starts(tmp_path, monkeypatch):
    monkeypatch.setattr(engine_process.tempfile, "gettempdir", lambda: str(tmp_path))
    late = "ngspice.Ngspice.__init__ = lambda *what: time.sleep(1e6)"
    with in_its_place(lambda: fake(late, starting_seconds=1.0)):
        with pytest.raises(EngineFailedError, match="it gave no answer within 1 s"):
            solves()
        assert list(tmp_path.iterdir()) == []


def test_it_never_reads():
    """The pipe fills, and writing to it would never end."""
    with in_its_place(lambda: fake("engine_program._listen = lambda *what: time.sleep(1e6)"), 1.0):
        job = Job("*" * 10_000_000, [], 1.0)
        with (
            pytest.raises(EngineFailedError, match="it gave no answer within 1 s"),
            spice._engine() as process,
        ):
            list(process.answers([job]))
    assert solves()


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("os.kill(os.getpid(), signal.SIGSEGV)", "killed by SIGSEGV"),
        ("os.kill(os.getpid(), signal.SIGKILL)", "killed by SIGKILL"),
        ("os._exit(0)", "with exit status 0"),
        ("os._exit(7)", "with exit status 7"),
        (
            "print('the last straw', file=sys.stderr, flush=True) or os._exit(7)",
            "status 7; the last it printed was: the last straw",
        ),
        ("1 / 0", "the last it printed was: ZeroDivisionError"),
    ],
)
def test_it_ends(what, said):
    assert said in failure(DOES + what)
    assert "its process ended without an answer" in failure(DOES + what)


def test_it_ends_before_it_has_started():
    assert "with exit status 5" in failure("os._exit(5)")
    assert "SIGABRT" in failure("ngspice.Ngspice.__init__ = lambda *what: os.abort()")


def test_it_closes_its_pipe_and_runs_on(monkeypatch):
    monkeypatch.setattr(engine_process, "_GRACE", 0.5)
    said = failure("engine_program.write_answer = lambda stream, *what: (stream.close(), time.sleep(1e6))")
    assert "runs on without an answer" in said


@pytest.mark.parametrize(
    "answer",
    [
        "write_message(stream, b'x')",
        "write_message(stream, b'garbage that is longer')",
        "write_message(stream, b'\\2' + bytes(7) + b'[]')",
        "write_answer(stream, {})",
        "write_answer(stream, {'vectors': 3})",
        "write_answer(stream, {'vectors': [['frequency', '<f8']]})",
        "write_answer(stream, {'vectors': [['frequency', '<f8', 3]]}, b'x')",
        "write_answer(stream, {'vectors': [['frequency', '<f8', 1]]}, bytes(16))",
        "write_answer(stream, {'vectors': [['frequency', '|O', 1]]}, bytes(8))",
        "write_answer(stream, {'vectors': [['frequency', '<f8', 'many']]}, bytes(8))",
    ],
)
def test_it_answers_what_cannot_be_read(answer):
    body = f"""
class Garbled(ngspice.Ngspice):
    def run_alone(self, *what):
        stream = sys.modules["engine_program_stream"]
        {answer}
        time.sleep(1e6)
ngspice.Ngspice = Garbled
own = engine_program._own_pipes
def pipes():
    requests, answers = own()
    sys.modules["engine_program_stream"] = answers
    return requests, answers
engine_program._own_pipes = pipes
"""
    assert "its answer cannot be read" in failure(body, seconds=5.0)


def test_what_it_prints_is_no_answer_and_fills_no_pipe():
    body = "runs(lambda *what: (os.write(1, b'out' * 200_000), os.write(2, b'err' * 200_000)))"
    with engine(body):
        assert solves()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("v.update(frequency=v['frequency'] * 1.001)", "was asked for the frequencies"),
        ("v.update(frequency=v['frequency'][:-1])", "was asked for the frequencies"),
        ("v.pop('frequency')", "was asked for the frequencies"),
        ("v.update(n1_plate=v['n1_plate'][:-1])", "asked for 3 values of n1_plate and gave 2"),
        ("v.update(n1_plate=np.append(v['n1_plate'], 1))", "asked for 3 values of n1_plate and gave 4"),
        ("v.pop('n2_output')", "asked for 3 values of n2_output and gave none"),
        ("v['n2_output'].fill(np.nan)", "values of n2_output that are no numbers"),
        ("v['vn3_coil#branch'].fill(np.inf)", "values of vn3_coil#branch that are no numbers"),
    ],
)
def test_it_gives_other_vectors_than_asked_for(change, said):
    assert said in failure(f"phasors(lambda v, netlist: {change})")


SURROUNDINGS = """
def look(engine, netlist, names):
    folder = os.readlink("/proc/self/cwd")
    tell(__import__("json").dumps({
        "variables": dict(os.environ), "folder": folder, "session": os.getsid(0) == os.getpid(),
        "files": sorted(os.readlink(f"/proc/self/fd/{n}") for n in range(3)),
        "locale": __import__("locale").setlocale(__import__("locale").LC_ALL),
        "core": __import__("resource").getrlimit(__import__("resource").RLIMIT_CORE)[0],
        "path": sys.path, "site": "site" in sys.modules, "isolated": sys.flags.isolated,
    }))
ngspice.Ngspice.run_alone = look
"""


@pytest.mark.skipif(not Path("/proc/self/cwd").exists(), reason="needs /proc")
def test_what_it_sees_of_its_surroundings(tmp_path, monkeypatch):
    for name, value in {
        "SPICE_LIB_DIR": "/x",
        "SPICE_SCRIPTS": "/x",
        "NGSPICE_INPUT_DIR": "/x",
        "PYTHONSTARTUP": "/x",
        "PYTHONPATH": str(tmp_path),
        "LD_LIBRARY_PATH": "/y",
        "LC_ALL": "tr_TR.UTF-8",
        "SECRET": "kept",
    }.items():
        monkeypatch.setenv(name, value)
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(engine_process.tempfile, "gettempdir", lambda: str(tmp_path / "temporary"))
    monkeypatch.chdir(tmp_path)
    before = resource.getrlimit(resource.RLIMIT_CORE)
    resource.setrlimit(resource.RLIMIT_CORE, (min(4096, before[1]) if before[1] >= 0 else 4096, before[1]))
    try:
        said = failure(SURROUNDINGS)
    finally:
        resource.setrlimit(resource.RLIMIT_CORE, before)
    seen = json.loads(said)
    home = seen["variables"].pop("HOME")
    assert home == seen["variables"].pop("SPICE_SCRIPTS")
    named = {"LC_ALL": "C", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "LD_LIBRARY_PATH": "/y"}
    if "NGSPICE_LIBRARY_PATH" in os.environ:
        named["NGSPICE_LIBRARY_PATH"] = os.environ["NGSPICE_LIBRARY_PATH"]
    assert seen["variables"] == named
    assert home.startswith(str(tmp_path / "temporary" / "netsim-"))
    assert seen["folder"] == f"{home} (deleted)"
    assert list((tmp_path / "temporary").iterdir()) == []
    assert seen["session"]
    assert sum(name.startswith("pipe:") for name in seen["files"]) == 2
    assert "/dev/null" in seen["files"]
    assert seen["locale"] == "C"
    assert seen["core"] == 0
    assert str(tmp_path) not in seen["path"]
    assert not seen["site"]
    assert seen["isolated"] == 1


def test_the_folder_it_starts_in_holds_one_empty_script_of_ours(tmp_path, monkeypatch):
    """Also while the library looks for its start-up files; nobody else may enter it."""
    monkeypatch.setattr(engine_process.tempfile, "gettempdir", lambda: str(tmp_path))
    look = """
def look(self, library):
    tell([os.getcwd() == os.environ["HOME"], os.listdir("."), open(".spiceinit").read(), oct(os.stat(".").st_mode)])
ngspice.Ngspice.__init__ = look
"""
    said = failure(look)
    assert said == "[True, ['.spiceinit'], '* nothing\\n', '0o40700']"
    assert list(tmp_path.iterdir()) == []


def test_no_place_for_its_folder(tmp_path, monkeypatch):
    monkeypatch.setattr(engine_process.tempfile, "gettempdir", lambda: str(tmp_path / "none"))
    with in_its_place(EngineProcess), pytest.raises(EngineFailedError, match="let TMPDIR name a folder"):
        solves()


def test_a_library_that_is_not_there(monkeypatch):
    monkeypatch.setenv("NGSPICE_LIBRARY_PATH", "/nowhere/libngspice.so")
    with in_its_place(EngineProcess):
        for _ in range(2):
            with pytest.raises(EngineMissingError, match="/nowhere/libngspice"):
                spice.version()
    monkeypatch.undo()
    assert solves()


EVERY = "int ngSpice_Init_Sync(){return 0;} int ngSpice_Command(){return 0;} int ngSpice_Circ(){return 0;}"


@pytest.mark.skipif(shutil.which("cc") is None, reason="needs a C compiler")
@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("int ngSpice_Init(){return 0;}", "does not start as ngspice does"),
        (
            "int ngSpice_Init(){return 1;} " + EVERY,
            "does not start as ngspice does (Ngspice_Init returned 1)",
        ),
        ("int ngSpice_Init(){return 0;} " + EVERY, "does not tell which ngspice it is"),
        ("void exit(int); int ngSpice_Init(){exit(0);}", "ended without an answer, with exit status 0"),
        ("int ngSpice_Init(){return *(volatile int *)0;}", "ended without an answer, killed by SIGSEGV"),
        ("int ngSpice_Init(){for(;;);}", "gave no answer within 2 s"),
        (
            "int ngSpice_Init(){return 0;} __attribute__((constructor)) void spin(void){for(;;);}",
            "gave no answer within 2 s",
        ),
    ],
)
def test_other_libraries(tmp_path, monkeypatch, source, said):
    """As somebody may name them: with the one function that is looked for first, and little else."""
    (tmp_path / "other.c").write_text(source)
    monkeypatch.setenv("NGSPICE_LIBRARY_PATH", str(tmp_path / "other.so"))
    monkeypatch.setattr(engine_process.tempfile, "gettempdir", lambda: str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    compiler = ["cc", "-w", "-shared", "-fPIC", "-o", str(tmp_path / "other.so"), str(tmp_path / "other.c")]
    subprocess.run(compiler, check=True)
    with (
        in_its_place(lambda: EngineProcess(starting_seconds=2.0)),
        pytest.raises(EngineFailedError) as caught,
    ):
        spice.version()
    assert said in str(caught.value)
    assert list((tmp_path / "temporary").iterdir()) == []


def test_no_python_to_run_it(monkeypatch):
    monkeypatch.setattr(sys, "executable", "")
    with in_its_place(EngineProcess):
        spice.start()
        with pytest.raises(EngineFailedError, match="does not know its own program"):
            spice.version()
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with (
        in_its_place(EngineProcess),
        pytest.raises(EngineFailedError, match="cannot be started: No such file"),
    ):
        spice.version()


def test_the_current_folder_is_not_searched_for_packages(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.syspath_prepend(str(tmp_path))
    assert str(tmp_path) not in engine_process._import_path()
    (tmp_path / "gone").mkdir()
    monkeypatch.chdir(tmp_path / "gone")
    (tmp_path / "gone").rmdir()
    assert str(tmp_path) in engine_process._import_path()
    with in_its_place(EngineProcess):
        assert solves()


PARENT = """
import os, sys, time
from engines import fake
from netsim.solvers.engine_process import Job
process = fake(sys.argv[1])
if sys.argv[2] == "asked":
    process.version
    process._send(Job("", [], 60.0))
print(process._process.pid, flush=True)
time.sleep(60)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs /proc")
@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
@pytest.mark.parametrize(
    ("body", "when"),
    [
        ("", "starting"),
        ("", "asked"),
        (DOES + "time.sleep(1e6)", "asked"),
        ("ngspice.Ngspice.__init__ = lambda *what: time.sleep(1e6)", "in its folder"),
    ],
)
def test_it_ends_with_its_parent_and_leaves_nothing(tmp_path, number, body, when):
    end_parent(tmp_path, number, body, when)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs /proc")
def test_it_makes_no_folder_while_it_is_about_to_end(tmp_path):
    """One thread has found that the parent is gone and cleans up; the other has come to where the folder is made."""
    slowly = """
remove = engine_program._remove
engine_program._remove = lambda folder: (remove(folder), time.sleep(4))
ngspice.Ngspice.__init__ = lambda *what: time.sleep(1e6)
"""
    end_parent(tmp_path, signal.SIGKILL, slowly, "starting")


def end_parent(tmp_path, number, body, when):
    """Start an engine from another process, end that by a signal, and see what is left."""
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT, body, when],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1]), "TMPDIR": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert parent.stdout is not None
    pid = int(parent.stdout.readline())
    if when == "in its folder":
        wait_for(lambda: any(tmp_path.iterdir()))
    assert is_there(pid)
    parent.send_signal(number)
    parent.wait(60)
    parent.stdout.close()
    wait_for(lambda: not is_there(pid))
    assert list(tmp_path.iterdir()) == []


STOPPED = """
import sys
from engines import engine, in_its_place, fake
from netsim.solvers import spice
with engine("runs(lambda *what: time.sleep(1.5))", seconds=2.5):
    spice.version()
    print("ready", flush=True)
    sys.stdin.readline()
    print(spice.transient("t\\nv1 a 0 1\\nr1 a 0 1\\n.tran 1u 1m\\n.end\\n", 1e-5, 1e-3, ["a"])["a"][-1])
"""


def test_a_job_that_was_stopped_at_the_terminal_is_no_engine_that_hangs():
    """The engine finishes meanwhile, and its parent takes the answer when it goes on."""
    process = subprocess.Popen(
        [sys.executable, "-c", STOPPED],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdin is not None
    assert process.stdout.readline() == "ready\n"
    process.stdin.write("\n")
    process.stdin.flush()
    time.sleep(0.5)
    process.send_signal(signal.SIGSTOP)
    time.sleep(4)
    process.send_signal(signal.SIGCONT)
    out, _ = process.communicate(timeout=60)
    assert (process.returncode, out.strip()) == (0, "1.0")
