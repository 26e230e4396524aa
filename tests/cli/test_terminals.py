"""What terminals show: plain signs where theirs lack ours, every figure whole at any width, nothing that moves them."""

import os
import re
import subprocess
from pathlib import Path

import pytest

NUMBER = re.compile(r"\d[\d.]*\d|\d")
COMMANDS = {
    "check": ["check", "new-tube.toml"],
    "tube and antennas": ["check", "new-tube-on-the-air.toml"],
    "taps": ["taps", "new-tube.toml"],
    "compare": ["compare", "old-tubes.toml", "new-tube.toml"],
}


def shown(
    program, circuits: Path, arguments: list[str], **variables: str
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [*program, *arguments, "--engine", "two-port"],
        cwd=circuits,
        env={**os.environ, **variables},
        capture_output=True,
        timeout=300,
    )


SOME = [pytest.param(name, marks=[pytest.mark.slow] * (name != "check")) for name in COMMANDS]
"""Every command is a run of seconds at every width; one is always tried."""


@pytest.mark.parametrize("name", SOME)
def test_every_figure_is_whole_at_any_width(program, circuits, name):
    wide = shown(program, circuits, COMMANDS[name], COLUMNS="80").stdout.decode()
    figures = set(NUMBER.findall(wide))
    assert len(figures) > 20
    for columns in (24, 40, 60):
        narrow = shown(program, circuits, COMMANDS[name], COLUMNS=str(columns)).stdout.decode()
        assert max(map(len, narrow.splitlines())) <= columns
        assert figures <= set(NUMBER.findall(narrow))
        assert "…" not in narrow


@pytest.mark.parametrize("name", SOME)
def test_a_terminal_without_our_signs(program, circuits, name):
    usual = shown(program, circuits, COMMANDS[name]).stdout.decode()
    plain = shown(program, circuits, COMMANDS[name], PYTHONIOENCODING="ascii").stdout
    assert "Ω" in usual
    assert b"ohm" in plain
    assert b"\\" not in plain
    assert plain.isascii()
    assert max(map(len, plain.splitlines())) <= 80


@pytest.mark.slow
def test_files_on_standard_output_are_utf_8(program, circuits, tmp_path):
    text = (circuits / "new-tube.toml").read_text(encoding="utf-8")
    owned = tmp_path / "own.toml"
    owned.write_text(text.replace("[stage]", "[stage] # 2 kΩ, 3 µH \u2028 \x85 \u202e", 1), encoding="utf-8")
    for arguments in (
        ["export", str(owned), "--band", "20 m", "--format", "netlist"],
        ["export", str(owned), "--band", "20 m", "--format", "csv"],
    ):
        usual = shown(program, circuits, arguments).stdout
        assert usual
        assert shown(program, circuits, arguments, PYTHONIOENCODING="ascii").stdout == usual
    found = shown(program, circuits, ["fix", str(owned)], PYTHONIOENCODING="ascii").stdout
    diff = found[found.index(b"--- ") :]
    applied = subprocess.run(["patch", "-o", "-", str(owned)], input=diff, capture_output=True, timeout=60)
    assert applied.returncode == 0, applied.stderr
    assert "[stage] # 2 kΩ, 3 µH \u2028 \x85 \u202e" in applied.stdout.decode()
    assert applied.stdout != owned.read_bytes()


@pytest.mark.slow
def test_names_of_files_do_not_reach_a_terminal_raw(program, circuits, tmp_path):
    source = (circuits / "old-tubes.toml").read_bytes()
    for name in (b"a\x1b[31m\x07.toml", "b\u202e.toml".encode(), b"c\xff\xe4.toml", b"d\nnetsim.toml"):
        path = os.path.join(os.fsencode(tmp_path), name)
        Path(os.fsdecode(path)).write_bytes(source)
        for arguments, status in (
            (["export", path, "--band", "20 m", "--format", "csv", "-o", path + b".csv"], 0),
            (["check", path + b".missing"], 2),
        ):
            done = shown(program, circuits, arguments)
            assert done.returncode == status, done.stderr
            for stream in (done.stdout, done.stderr):
                assert not re.search("[\x1b\x07\u202e]", stream.decode())
                assert b"\nnetsim.toml" not in stream
