"""The rules of the house, enforced by the same command that runs the tests."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

BIN = Path(sys.executable).parent

CHECKS = {
    "ruff": [BIN / "ruff", "check", "."],
    "format": [BIN / "ruff", "format", "--check", "."],
    "types": [BIN / "mypy", "--strict", "-p", "netsim"],
    "imports": [BIN / "lint-imports", "--no-cache"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_tool_finds_nothing(name: str, root: Path) -> None:
    run = subprocess.run(CHECKS[name], cwd=root, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr


def test_top_level_is_what_it_should_be(root: Path) -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=root, capture_output=True, text=True, check=True)
    top = {path.split("/")[0] for path in listed.stdout.split()}
    visible = {name for name in top if not name.startswith(".")}
    assert visible == {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "netsim",
        "circuits",
        "tests",
        "reports",
    }


def modules(root: Path) -> list[Path]:
    return sorted((root / "netsim").rglob("*.py"))


def test_modules_stay_readable(root: Path) -> None:
    long = {
        str(path.relative_to(root)): lines
        for path in modules(root)
        if (lines := len(path.read_text().splitlines())) > 400
    }
    assert not long


def test_rooms_stay_small(root: Path) -> None:
    folders = {path.parent for path in modules(root)}
    crowded = {
        str(folder.relative_to(root)): n for folder in folders if (n := len(list(folder.glob("*.py")))) > 20
    }
    assert not crowded


def test_no_catch_all_module(root: Path) -> None:
    names = {path.stem for path in modules(root)}
    assert not names & {"utils", "util", "helpers", "common", "misc"}


def test_init_only_hands_names_on(root: Path) -> None:
    code = re.compile(r"^\s*(def|class|for|if|while|with|try)\b", re.MULTILINE)
    busy = [path for path in modules(root) if path.name == "__init__.py" and code.search(path.read_text())]
    assert not busy


def test_version_is_written_once_in_effect(root: Path) -> None:
    import tomllib

    from netsim import __version__

    project = tomllib.loads((root / "pyproject.toml").read_text())["project"]
    assert project["version"] == __version__


def test_nothing_calls_an_amplifier_harmless(root: Path) -> None:
    """Which ratings are exceeded and which are not is all that may be said (rule of the house)."""
    # The keyword argument of urllib's quote is another word.
    word = re.compile(r"\b(?!safe=_PLAIN)safe(ly|ty)?\b", re.IGNORECASE)
    texts = [path for kind in ("*.py", "*.j2", "*.json") for path in (root / "netsim").rglob(kind)]
    texts += [root / "README.md"]
    found = [f"{path}: {m.group()}" for path in texts for m in word.finditer(path.read_text())]
    assert not found
