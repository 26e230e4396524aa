"""fix, design and compare from the command line: their output, their files, their refusals."""

import json
import subprocess

import pytest

from netsim.analysis import analyse
from netsim.cli.application import run
from netsim.description.reader import read


@pytest.fixture(scope="module")
def refitted(root):
    return str(root / "tests" / "examples" / "refitted.toml")


@pytest.fixture
def bare(circuits, tmp_path):
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8")
    kept = [line for line in text.splitlines(True) if not line.startswith(("coil =", "load_padding ="))]
    path = tmp_path / "bare.toml"
    path.write_text("".join(kept), encoding="utf-8")
    return path


def test_what_fix_prints_is_a_patch(refitted, tmp_path, capsys, root):
    written = tmp_path / "written.toml"
    assert run(["fix", refitted, "--write", str(written)]) == 0
    printed = capsys.readouterr().out
    patched = tmp_path / "patched.toml"
    patched.write_text((root / refitted).read_text(encoding="utf-8"), encoding="utf-8")
    subprocess.run(["patch", "-s", str(patched)], input=printed, text=True, check=True)
    assert patched.read_text(encoding="utf-8") == written.read_text(encoding="utf-8")
    assert run(["check", str(patched)]) == 0
    assert run(["check", refitted]) == 1


def test_the_printed_fix_of_the_demonstration_clears_it(circuits, tmp_path, capsys):
    assert run(["fix", str(circuits / "new-tube.toml")]) == 0
    patched = tmp_path / "patched.toml"
    patched.write_text((circuits / "new-tube.toml").read_text(encoding="utf-8"), encoding="utf-8")
    subprocess.run(["patch", "-s", str(patched)], input=capsys.readouterr().out, text=True, check=True)
    assert analyse(read(patched)).verdict.counts["over"] == 0


def test_fix_says_how_much_each_kind_of_change_counts(refitted, capsys):
    run(["fix", refitted, "--engine", "two-port"])
    out = " ".join(capsys.readouterr().out.split())
    assert "setting 1, padding 2, tap 3, part 12" in out
    assert "NOT CROSS-CHECKED" in out


@pytest.mark.slow
def test_fix_as_json_gives_all_of_it(refitted, capsys):
    assert run(["fix", refitted, "--json", "--options", "--engine", "two-port"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["clears"] is True
    assert told["weight"] == sum(move["weight"] for move in told["moves"])
    assert told["after"]["counts"]["over"] == 0
    assert told["before"]["counts"]["over"] > 20
    assert told["options"]
    assert told["moves"][0]["keys"]


def test_fix_of_a_clean_file_changes_nothing(circuits, capsys):
    assert run(["fix", str(circuits / "old-tubes.toml"), "--engine", "two-port"]) == 0
    assert "no change is needed" in capsys.readouterr().out


@pytest.mark.slow
def test_a_file_that_is_there_is_kept(refitted, tmp_path, capsys):
    there = tmp_path / "there.toml"
    there.write_text("mine", encoding="utf-8")
    assert run(["fix", refitted, "--write", str(there)]) == 2
    assert "output_exists" in capsys.readouterr().err
    assert there.read_text(encoding="utf-8") == "mine"
    assert run(["fix", refitted, "--write", str(there), "--force", "--engine", "two-port"]) == 0
    assert there.read_text(encoding="utf-8") != "mine"


def test_fix_never_writes_over_its_own_input(refitted, capsys):
    assert run(["fix", refitted, "--write", refitted, "--force"]) == 2
    assert "output_is_input" in capsys.readouterr().err


@pytest.mark.parametrize("definition", ["loaded", "stored-energy"])
def test_design_completes_a_file(bare, tmp_path, capsys, definition):
    made = tmp_path / "made.toml"
    arguments = ["design", str(bare), "-o", str(made), "--q-definition", definition, "--engine", "two-port"]
    assert run(arguments) == 0
    assert analyse(read(made), engine="two-port").verdict.counts["over"] == 0
    assert run(["check", str(bare)]) == 2  # only here may coils be left out
    capsys.readouterr()
    assert run(arguments) == 2
    assert run([*arguments, "--force", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["q_definition"] == definition


def test_compare_two_files(circuits, capsys):
    files = [str(circuits / name) for name in ("old-tubes.toml", "new-tube.toml")]
    assert run(["compare", *files, "--engine", "two-port"]) == 0
    out = capsys.readouterr().out
    assert "21 findings over instead of 0" in out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert run(["compare", *files, "--json", "--engine", "two-port"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["bands"][0]["name"] == "80 m"
    assert told["amplifier"][0]["difference"] > 1000


def test_compare_topologies(circuits, capsys):
    file = str(circuits / "old-tubes.toml")
    assert run(["compare", file, "--topology", "pi", "pi-L", "--engine", "two-port"]) == 0
    assert "worst harmonic better on all bands" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["compare", "{old}"], "two files are compared"),
        (["compare", "{old}", "--topology", "pi", "T"], "unknown_topology"),
        (["design", "{old}", "-o", "{new}"], "nothing_to_design"),
        (["design", "{bare}", "-o", "{new}", "--target", "4"], "6.09 at least"),
        (["fix", "missing.toml"], "file_missing"),
    ],
)
def test_mistakes_are_told_and_exit_2(circuits, bare, tmp_path, capsys, arguments, words):
    names = {"old": circuits / "old-tubes.toml", "bare": bare, "new": tmp_path / "new.toml"}
    assert run([argument.format(**names) for argument in arguments]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("aim", ["inf", "nan", "1e300", "-1", "0", "0.09", "1000.1"])
def test_a_loaded_q_that_no_design_has(netsim, circuits, tmp_path, aim):
    run = netsim("design", circuits / "new-tube.toml", "-o", tmp_path / "new.toml", "--target", aim)
    assert run.status == 2
    assert "0.1 to 1000" in run.err
    assert not (tmp_path / "new.toml").exists()
