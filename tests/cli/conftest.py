"""The command, run in this process or as one of its own."""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from netsim.cli import application


@dataclass(frozen=True)
class Run:
    """What a command left behind."""

    status: int
    out: str
    err: str


@pytest.fixture
def netsim(capsys: pytest.CaptureFixture[str]) -> Callable[..., Run]:
    """Run the command in this process."""

    def run(*arguments: str | Path) -> Run:
        capsys.readouterr()
        status = application.run([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Run(status, captured.out, captured.err)

    return run


@pytest.fixture(scope="session")
def program() -> list[str]:
    """Start of a command line that runs the command as users do."""
    return [sys.executable, "-m", "netsim"]


@pytest.fixture
def netsim_process(program: list[str]) -> Callable[..., Run]:
    """Run the command in a process of its own."""

    def run(*arguments: str | Path, **variables: str) -> Run:
        done = subprocess.run(
            [*program, *map(str, arguments)],
            capture_output=True,
            text=True,
            env={**os.environ, **variables},
            timeout=120,
        )
        return Run(done.returncode, done.stdout, done.stderr)

    return run


@pytest.fixture(scope="session")
def plain_text(plain: Path) -> str:
    """Text of the plain example."""
    return plain.read_text(encoding="utf-8")


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str | bytes], Path]:
    """Write an amplifier file."""

    def write(content: str | bytes) -> Path:
        path = tmp_path / "amplifier.toml"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    return write
