"""Ctrl-C, requests to end, and pipes whose reader has gone, in processes of their own."""

import os
import pty
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from engines import wait_for

from netsim.__main__ import main

ROOT = Path(__file__).parents[2]
ENDLESS = ", ".join(f'"{3.5 + 0.0005 * n:.4f} MHz"' for n in range(990))


@pytest.fixture
def endless(write, plain_text):
    """Write an amplifier that takes many seconds to solve."""
    return write(plain_text.replace('"3.5 MHz", "3.8 MHz"', ENDLESS))


@pytest.mark.parametrize("command", ["check", "report"])
def test_ctrl_c_leaves_at_once_without_a_traceback(program, endless, tmp_path, command):
    """The terminal shows progress meanwhile, which tells the test when solving has begun."""
    master, slave = pty.openpty()
    page = tmp_path / "page.html"
    page.write_text("old")
    extra = ["-o", str(page)] if command == "report" else ["--json"]
    process = subprocess.Popen(
        [*program, command, str(endless), *extra],
        stdout=subprocess.PIPE,
        stderr=slave,
        env={**os.environ, "TERM": "xterm"},
    )
    os.close(slave)
    seen = b""
    while b"solving" not in seen:
        seen += os.read(master, 1000)
    process.send_signal(signal.SIGINT)
    out, _ = process.communicate(timeout=60)
    try:
        while more := os.read(master, 1000):
            seen += more
    except OSError:  # how a terminal says that its other end is closed
        pass
    os.close(master)
    assert process.returncode == 130
    assert out == b""
    assert b"Interrupted" in seen
    assert b"Traceback" not in seen
    assert page.read_text() == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["amplifier.toml", "page.html"]


IN_A_CALLBACK = """
import ctypes, os, signal, sys
from netsim.cli import signals
signals.take_over()
signals.unfinished.add(sys.argv[1])
compare = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p)
def interrupted(one, other):
    os.kill(os.getpid(), int(sys.argv[2]))
    return 0
ctypes.CDLL(None).qsort((ctypes.c_int * 2)(2, 1), 2, 4, compare(interrupted))
print("went on")
"""


ENDS = {
    signal.SIGINT: (130, "\nInterrupted; nothing was written.\n"),
    signal.SIGTERM: (-signal.SIGTERM, ""),
    signal.SIGHUP: (-signal.SIGHUP, ""),
    signal.SIGQUIT: (-signal.SIGQUIT, ""),
}
"""Exit status and last words for each signal: Ctrl-C's by the table of exits, the others' the system's own."""


@pytest.mark.parametrize("number", ENDS)
def test_signals_are_not_swallowed_inside_a_callback(tmp_path, number):
    """An exception there would be printed and forgotten; a half-written file is taken away."""
    half = tmp_path / ".netsim-half"
    half.write_text("half")
    done = subprocess.run(
        [sys.executable, "-c", IN_A_CALLBACK, str(half), str(int(number))],
        capture_output=True,
        text=True,
        timeout=60,
        cwd=tmp_path,
        preexec_fn=no_core_file,
    )
    assert (done.returncode, done.stderr) == ENDS[number]
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == []


def no_core_file() -> None:
    """Spare the test an image of memory, which SIGQUIT asks the system for."""
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def children(pid: int) -> list[int]:
    """List the processes that one has started."""
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="needs /proc")
@pytest.mark.parametrize("number", [*ENDS, signal.SIGKILL])
@pytest.mark.parametrize("delay", [0.0, 0.4])
def test_no_process_and_no_folder_is_left(program, endless, tmp_path, number, delay):
    """Whenever it comes: while the engine starts, or while it solves."""
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    process = subprocess.Popen(
        [*program, "check", str(endless), "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "TMPDIR": str(temporary)},
        preexec_fn=no_core_file,
    )
    wait_for(lambda: children(process.pid))
    (engine,) = children(process.pid)
    time.sleep(delay)
    process.send_signal(number)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, err.decode()) == ENDS.get(number, (-number, ""))
    assert out == b""
    wait_for(
        lambda: not Path(f"/proc/{engine}").exists() or b"Z" in Path(f"/proc/{engine}/stat").read_bytes()
    )
    assert list(temporary.iterdir()) == []


def test_the_command_takes_ctrl_c_over(monkeypatch):
    taken = []
    monkeypatch.setattr(signal, "signal", lambda number, handler: taken.append(number))
    monkeypatch.setattr("netsim.cli.signals.take_over", lambda: taken.append(True))
    monkeypatch.setattr("netsim.cli.application.run", lambda arguments: 0)
    with pytest.raises(SystemExit) as leaving:
        main()
    assert leaving.value.code == 0
    assert taken in ([True], [signal.SIGINT, True])


INTERRUPTED_EARLY = """
import os, signal, sys
class Interrupting:
    def find_spec(self, name, path=None, target=None):
        if name == wanted:
            os.kill(os.getpid(), signal.SIGINT)
wanted = sys.argv[1]
sys.meta_path.insert(0, Interrupting())
sys.argv = ["netsim", "check", sys.argv[2]]
from netsim.__main__ import main
main()
"""


@pytest.mark.parametrize(
    "module",
    ["logging", "netsim.cli.signals", "netsim.errors", "netsim.cli.application", "netsim.advice.remedies"],
)
def test_ctrl_c_during_imports_is_no_traceback(plain, module):
    """They take a second on a busy machine, and people are impatient then."""
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED_EARLY, module, str(plain)],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert (done.returncode, done.stdout) == (130, "")
    assert done.stderr.strip() == "Interrupted; nothing was written."


def test_next_to_nothing_is_imported_before_ctrl_c_is_handled():
    code = "import sys; before = set(sys.modules); import netsim.__main__; print(*set(sys.modules) - before)"
    done = subprocess.run(
        [sys.executable, "-S", "-c", code], capture_output=True, text=True, timeout=60, cwd=ROOT
    )
    loaded = set(done.stdout.split())
    assert "signal" in loaded
    assert not loaded & {"logging", "typing", "dataclasses", "re", "importlib", "pathlib", "numpy", "click"}
    assert {name for name in loaded if name.startswith("netsim")} == {
        "netsim",
        "netsim.__main__",
        "netsim.public_names",
    }


def test_ctrl_c_is_left_alone_where_the_caller_ignores_it(program, plain):
    done = subprocess.run(
        [
            "sh",
            "-c",
            'trap "" INT; "$@" & child=$!; kill -INT $child; wait $child',
            "sh",
            *program,
            "--version",
        ],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("buffering", ["", "1"])
@pytest.mark.parametrize("extra", [["--json"], []])
def test_141_a_reader_that_has_gone_is_no_news(program, circuits, extra, buffering):
    process = subprocess.Popen(
        [*program, "check", str(circuits / "new-tube.toml"), *extra],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": buffering},
    )
    assert process.stdout is not None
    process.stdout.close()
    assert process.stderr is not None
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait(timeout=60) == 141


@pytest.mark.parametrize("buffering", ["", "1"])
def test_141_a_reader_that_takes_one_byte(program, circuits, buffering):
    """The result is larger than a pipe holds, so the writer is in the middle of it."""
    process = subprocess.Popen(
        [*program, "check", str(circuits / "new-tube.toml"), "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": buffering},
    )
    assert process.stdout is not None
    assert os.read(process.stdout.fileno(), 1) == b"{"
    process.stdout.close()
    assert process.stderr is not None
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait(timeout=60) == 141


def test_head_takes_the_first_line(program, circuits):
    line = " ".join([*program, "check", str(circuits / "new-tube.toml")])
    done = subprocess.run(["sh", "-c", f"{line} | head -n 1"], capture_output=True, text=True, timeout=60)
    assert done.stdout.startswith("Refitted")
    assert done.stderr == ""


def test_a_full_disk_behind_stdout(program, circuits):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [*program, "check", str(circuits / "new-tube.toml"), "--json"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=60,
        )
    assert done.returncode == 2
    assert "No space left" in done.stderr
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr


def test_stdout_and_stderr_that_are_closed(program, circuits):
    line = " ".join([*program, "check", str(circuits / "old-tubes.toml")])
    done = subprocess.run(["sh", "-c", f"{line} >&- 2>&-"], timeout=60)
    assert done.returncode == 0
