"""The table of exit statuses, through the command as users run it."""

import json

import pytest
from numpy.linalg import _umath_linalg

from netsim.cli import application
from netsim.errors import (
    DescriptionError,
    DisagreementError,
    EngineFailedError,
    EngineMissingError,
    OutputError,
    Problem,
    UsageError,
)


def test_0_nothing_over(netsim_process, circuits):
    run = netsim_process("check", circuits / "old-tubes.toml", "--json")
    assert run.status == 0
    assert json.loads(run.out)["counts"]["over"] == 0


def test_1_something_over_by_check_only(netsim_process, circuits):
    new = circuits / "new-tube.toml"
    assert netsim_process("check", new).status == 1
    assert netsim_process("export", new, "--band", "10 m", "--format", "csv").status == 0


def test_close_and_not_rated_alone_exit_0(netsim, write, plain_text):
    text = plain_text.replace('voltage_rating = "1 kV"\n', "")
    run = netsim("check", write(text), "--json", "--engine", "two-port")
    counts = json.loads(run.out)["counts"]
    assert counts["not_rated"] > 0
    assert run.status == (1 if counts["over"] else 0)
    old = netsim("check", write(text), "--band", "20 m", "--json", "--engine", "two-port")
    assert json.loads(old.out)["counts"]["over"] == 0
    assert old.status == 0


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["chekc", "x.toml"],
        ["check"],
        ["check", "x.toml", "--no-such-option"],
        ["check", "x.toml", "--engine", "guess"],
        ["export", "x.toml", "--band", "80 m", "--format", "pdf"],
        ["export", "x.toml", "--format", "csv"],
    ],
)
def test_2_usage(netsim, arguments):
    run = netsim(*arguments)
    assert run.status == 2
    assert run.out == ""
    assert "Usage: netsim" in run.err
    assert "--help" in run.err


def test_2_unknown_band_is_told_as_json_too(netsim, plain):
    run = netsim("check", plain, "--band", "6 m", "--json")
    assert run.status == 2
    (error,) = json.loads(run.out)["errors"]
    assert error["code"] == "unknown_band"
    assert "'80 m'" in error["message"]


def test_3_no_engine(netsim_process, plain):
    run = netsim_process("check", plain, "--json", NGSPICE_LIBRARY_PATH="/nowhere/libngspice.so")
    assert run.status == 3
    (error,) = json.loads(run.out)["errors"]
    assert error["code"] == "engine_missing"
    assert "/nowhere/libngspice.so" in run.err
    assert "libngspice0" in run.err
    assert "Next: netsim doctor" in run.err
    assert "Traceback" not in run.err


@pytest.mark.parametrize("command", [["doctor"], ["check"]])
def test_3_another_library(netsim_process, plain, command):
    """What was found is named, where a user's own path leads to a library that is not ngspice."""
    other = _umath_linalg.__file__
    run = netsim_process(*command, *([plain] if command == ["check"] else []), NGSPICE_LIBRARY_PATH=other)
    assert run.status == 3
    assert f"{other} (another library: it has no ngSpice_Init)" in run.err
    assert "Traceback" not in run.err
    assert "All is well" not in run.out


def test_2_comes_before_3(netsim_process, write):
    run = netsim_process("check", write("title = 3"), NGSPICE_LIBRARY_PATH="/nowhere/libngspice.so")
    assert run.status == 2


def test_3_comes_before_1(netsim_process, circuits):
    run = netsim_process("check", circuits / "new-tube.toml", NGSPICE_LIBRARY_PATH="/nowhere/libngspice.so")
    assert run.status == 3


def test_two_port_needs_no_engine_and_says_what_that_means(netsim_process, circuits):
    run = netsim_process(
        "check",
        circuits / "old-tubes.toml",
        "--engine",
        "two-port",
        NGSPICE_LIBRARY_PATH="/nowhere/libngspice.so",
    )
    assert run.status == 0
    assert "NOT CROSS-CHECKED" in run.out
    assert "not cross-checked" in run.err


@pytest.mark.parametrize(
    ("kind", "status"),
    [
        (UsageError, 2),
        (DescriptionError, 2),
        (OutputError, 2),
        (EngineMissingError, 3),
        (EngineFailedError, 3),
        (DisagreementError, 3),
    ],
)
def test_each_error_has_its_status(netsim, plain, monkeypatch, kind, status):
    def fail(*_, **__):
        raise kind(Problem("disagreement", "told"))

    monkeypatch.setattr("netsim.analysis.analyse", fail)
    run = netsim("check", plain, "--json")
    assert run.status == status
    assert json.loads(run.out)["errors"][0]["message"] == "told"


def test_70_a_fault_of_ours_is_short_and_says_how_to_report_it(netsim, plain, monkeypatch):
    def fail(*_, **__):
        raise ZeroDivisionError("by us\nand more")

    monkeypatch.setattr("netsim.analysis.analyse", fail)
    run = netsim("check", plain, "--json")
    assert run.status == 70
    assert "Traceback" not in run.err
    assert "--debug" in run.err
    assert len(run.err.splitlines()) <= 4
    assert json.loads(run.out)["errors"][0]["code"] == "internal_error"
    for arguments in (["--debug", "check", plain], ["check", plain, "--debug"]):
        run = netsim(*arguments)
        assert run.status == 70
        assert "Traceback" in run.err
        assert "ZeroDivisionError" in run.err


def test_debug_shows_the_way_to_an_error_of_the_user_too(netsim, tmp_path):
    assert "Traceback" in netsim("check", tmp_path / "none", "--debug").err


def test_130_interrupted_where_no_handler_is_in_place(netsim, plain, monkeypatch):
    def fail(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("netsim.analysis.analyse", fail)
    run = netsim("check", plain)
    assert run.status == 130
    assert "Traceback" not in run.err


def test_help_and_version(netsim):
    shown = netsim("--help")
    assert shown.status == 0
    assert shown.out.startswith("Examples:\n  netsim check circuits/new-tube.toml")
    assert "netsim report circuits/new-tube.toml" in shown.out.split("Usage:")[0]
    version = netsim("--version")
    assert version.status == 0
    assert version.out.startswith("netsim ")


def test_every_command_has_help_that_fits(netsim):
    for name in application._COMMANDS:
        run = netsim(name, "--help")
        assert run.status == 0
        assert max(map(len, run.out.splitlines())) <= 80
