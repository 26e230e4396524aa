"""What each command does beside failing."""

import json
import os
import re
import shlex
import subprocess
import tomllib

import jsonschema
import pytest
from respelling import Respeller

from netsim.api import result
from netsim.description.reader import loads
from netsim.description.schema import SCHEMA_PATH, build_schema
from netsim.description.template import template
from netsim.report.code_reference import code_reference


@pytest.fixture
def stub_page(monkeypatch):
    page = "<!doctype html>\n<title>{}</title>\n"
    monkeypatch.setattr(result, "page_of", lambda solved: page.format(solved.verdict.title))


def test_check_of_one_band_solves_only_that(netsim, circuits):
    run = netsim("check", circuits / "new-tube.toml", "--band", "10 m", "--json")
    verdict = json.loads(run.out)
    assert [band["name"] for band in verdict["bands"]] == ["10 m"]
    assert {finding["band"] for finding in verdict["findings"]} <= {"10 m", None}


def test_check_prints_one_json_object_and_nothing_else(netsim, plain):
    run = netsim("check", plain, "--json")
    assert isinstance(json.loads(run.out), dict)
    assert run.err == ""
    assert run.out.isascii()


def test_check_without_ngspice_has_no_agreement(netsim, plain):
    run = netsim("check", plain, "--json", "--engine", "two-port")
    verdict = json.loads(run.out)
    assert verdict["cross_checked"] is False
    assert verdict["provenance"]["ngspice"] is None
    assert all(p["agreement"]["worst_relative"] is None for b in verdict["bands"] for p in b["points"])


def test_tables_have_80_columns_and_no_colour_in_a_pipe(netsim, circuits):
    for name in ("new-tube.toml", "new-tube-pi-l.toml", "old-tubes.toml"):
        run = netsim("check", circuits / name)
        assert max(map(len, run.out.splitlines())) <= 80
        assert "\x1b" not in run.out
        assert run.err == ""
        assert "Next: netsim " in "".join(run.out.splitlines()[-4:])


@pytest.mark.slow
def test_colour_on_a_terminal_unless_unwanted(program, circuits):
    """FORCE_COLOR stands in for a terminal."""
    import os

    def out(**variables):
        environment = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR")}
        return subprocess.run(
            [*program, "check", str(circuits / "new-tube.toml")],
            capture_output=True,
            env={**environment, "TERM": "xterm-256color", **variables},
            timeout=60,
        ).stdout

    colours = re.compile(rb"\x1b\[[0-9;]*3[0-9]m")
    assert colours.search(out(FORCE_COLOR="1"))
    assert not colours.search(out(FORCE_COLOR="1", NO_COLOR="1"))
    assert b"\x1b" not in out()


def test_a_terminal_that_knows_only_ascii(program, circuits):
    import os

    done = subprocess.run(
        [*program, "check", str(circuits / "new-tube.toml")],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        timeout=60,
    )
    assert done.returncode == 1
    assert done.stdout.isascii()


def test_report_goes_to_reports_by_default(netsim, plain, tmp_path, monkeypatch, stub_page):
    monkeypatch.chdir(tmp_path)
    run = netsim("report", plain)
    assert run.status == 0
    page = tmp_path / "reports" / "plain.html"
    assert page.read_text().lower().startswith("<!doctype html>")
    assert "reports/plain.html" in run.err


@pytest.mark.slow
def test_report_exits_0_whatever_it_found(netsim, circuits, tmp_path, stub_page):
    run = netsim("report", circuits / "new-tube.toml", "-o", tmp_path / "page.html")
    assert run.status == 0
    assert re.search(r"\d+ over", run.err)


@pytest.mark.parametrize("ideal", [False, True])
def test_new_writes_a_valid_file_and_its_schema(netsim, tmp_path, ideal):
    target = tmp_path / "mine.toml"
    run = netsim("new", target, *["--ideal"] * ideal)
    assert run.status == 0
    text = target.read_text()
    assert text.startswith(f"#:schema {SCHEMA_PATH.name}\n")
    assert "This can kill." in text.partition("\n[")[0]
    assert "local codes" in text
    assert (tmp_path / SCHEMA_PATH.name).read_text() == SCHEMA_PATH.read_text()
    table = tomllib.loads(text)
    jsonschema.validate(table, build_schema())
    assert all("coil_turns" in band for band in table["bands"]) != ideal
    assert ("curve_points" in table.get("tube", {})) != ideal
    assert ("air_gap" in table["network"]["tune_capacitor"]) != ideal
    assert sum("#" in line for line in text.splitlines()) > 30
    checked = netsim("check", target, "--json")
    assert checked.status == 0
    assert json.loads(checked.out)["counts"]["over"] == 0
    assert f"netsim check {target}" in run.err


@pytest.mark.parametrize("ideal", [False, True])
def test_what_new_writes_respelt_in_any_way_is_the_same_amplifier(ideal):
    plain = loads(template(ideal=ideal))
    for seed in range(20):
        assert loads(Respeller(seed).write(tomllib.loads(plain.text))).description == plain.description


def test_new_never_writes_over_a_file(netsim, tmp_path):
    (tmp_path / "mine.toml").write_text("mine")
    (tmp_path / SCHEMA_PATH.name).write_text("my schema")
    run = netsim("new", tmp_path / "mine.toml")
    assert run.status == 2
    assert "[output_exists]" in run.err
    assert (tmp_path / "mine.toml").read_text() == "mine"
    (tmp_path / "alone").mkdir()
    (tmp_path / "alone" / "mine.toml").write_text("mine")
    assert netsim("new", tmp_path / "alone" / "mine.toml").status == 2
    assert [path.name for path in (tmp_path / "alone").iterdir()] == ["mine.toml"]
    assert netsim("new", tmp_path / "other.toml").status == 0
    assert (tmp_path / SCHEMA_PATH.name).read_text() == "my schema"


@pytest.mark.parametrize("name", ["none/mine.toml", SCHEMA_PATH.name, "file/mine.toml", "x" * 300])
def test_new_where_it_cannot_be(netsim, tmp_path, name):
    (tmp_path / "file").write_text("")
    run = netsim("new", tmp_path / name)
    assert run.status == 2
    assert "Traceback" not in run.err
    assert "[output_" in run.err


def test_explain_every_code(netsim):
    for code, explanation in code_reference().items():
        run = netsim("explain", code)
        assert run.status == 0
        assert run.out.startswith(code)
        assert "What to do" in run.out
        assert max(map(len, run.out.splitlines())) <= 80
        words = " ".join(run.out.split())
        assert all(" ".join(remedy.split()) in words for remedy in explanation.remedies)


def test_explain_lists_all_codes(netsim):
    run = netsim("explain")
    assert run.status == 0
    assert set(code_reference()) <= set(run.out.split())


def test_explain_offers_the_nearest_code(netsim):
    assert netsim("explain", "Tuning-Range").status == 0
    run = netsim("explain", "tunning_range")
    assert run.status == 2
    assert "did you mean tuning_range?" in run.err


def test_doctor_solves_a_known_circuit_both_ways(netsim):
    run = netsim("doctor")
    assert run.status == 0
    assert len(re.findall(r"500\.000000 [+-] j0\.000000 ohm", run.out)) == 2
    assert re.search(r"ngspice \d+ from ", run.out)
    assert "PySpice 1.5" in run.out


def test_doctor_without_an_engine_says_what_works(netsim_process):
    run = netsim_process("doctor", NGSPICE_LIBRARY_PATH="/nowhere/libngspice.so")
    assert run.status == 3
    assert "scikit-rf: an L network to 500 ohm" in run.out
    assert "libngspice0" in run.err


def test_doctor_does_not_believe_a_wrong_solver(netsim, monkeypatch):
    monkeypatch.setattr("netsim.solvers.known_answer.solve", lambda solver: 500 + 1e-3j)
    run = netsim("doctor")
    assert run.status == 3
    assert "[wrong_answer]" in run.err


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_prints_what_the_shell_reads(netsim, shell):
    run = netsim("completion", shell)
    assert run.status == 0
    assert "_NETSIM_COMPLETE" in run.out


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (["netsim", "che"], "check"),
        (["netsim", "explain", "tun"], "tuning_range"),
        (["netsim", "check", "PLAIN", "--band", "4"], "40 m"),
        (["netsim", "check", "PLAIN", "--eng"], "--engine"),
    ],
)
def test_completion_offers_commands_codes_and_bands(netsim, plain, monkeypatch, words, offered):
    words = [str(plain) if word == "PLAIN" else word for word in words]
    monkeypatch.setenv("_NETSIM_COMPLETE", "zsh_complete")
    monkeypatch.setenv("COMP_WORDS", " ".join(words))
    monkeypatch.setenv("COMP_CWORD", str(len(words) - 1))
    assert offered in netsim().out.splitlines()


def test_completion_of_bands_of_an_unreadable_file_is_silent(netsim, write, monkeypatch):
    monkeypatch.setenv("_NETSIM_COMPLETE", "zsh_complete")
    for content in ("bands = 3", "[[bands]]", "x = [", b"\xff\xfe"):
        monkeypatch.setenv("COMP_WORDS", f"netsim check {write(content)} --band x")
        monkeypatch.setenv("COMP_CWORD", "4")
        run = netsim()
        assert run.out.strip() == ""
        assert run.err == ""


def test_report_writes_the_real_page(netsim_process, circuits, tmp_path):
    run = netsim_process("report", circuits / "new-tube.toml", "-o", tmp_path / "page.html")
    assert run.status == 0, run.err
    page = (tmp_path / "page.html").read_text()
    assert page.lower().startswith("<!doctype html>")
    assert page.rstrip().endswith("</html>")
    assert run.out == ""


def test_explain_file_lists_every_key(netsim):
    from netsim.description.key_reference import key_rows

    run = netsim("explain", "file")
    assert run.status == 0
    printed = " ".join(run.out.split())
    for row in key_rows():
        assert f"{row.key}{'*' if row.required else ''} = " in printed
        assert row.table in printed


def test_what_bash_is_offered_runs_nothing(tmp_path, write, plain_text, program):
    """Bash puts words on the line as they are: one that it would run or split comes quoted."""
    named = plain_text.replace('name = "80 m"', 'name = "$(touch PWN)"').replace(
        'name = "40 m"', "name = '; rm *'"
    )
    file = write(named)
    shown = subprocess.run(
        program,
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={
            **os.environ,
            "_NETSIM_COMPLETE": "bash_complete",
            "COMP_WORDS": f"netsim check {file} --band ",
            "COMP_CWORD": "4",
        },
    )
    words = [line.partition(",")[2] for line in shown.stdout.splitlines()]
    assert [shlex.split(word) for word in words] == [["$(touch PWN)"], ["; rm *"], ["20 m"]]
    inserted = subprocess.run(
        ["bash", "-c", "printf '%s|' " + " ".join(words)], capture_output=True, text=True, cwd=tmp_path
    )
    assert inserted.stdout == "$(touch PWN)|; rm *|20 m|"
    assert not (tmp_path / "PWN").exists()


def test_completion_waits_for_no_pipe_and_wants_the_words(tmp_path, netsim, monkeypatch):
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    monkeypatch.setenv("_NETSIM_COMPLETE", "bash_complete")
    assert netsim().status == 2
    monkeypatch.setenv("COMP_WORDS", f"netsim check {pipe} --band ")
    monkeypatch.setenv("COMP_CWORD", "4")
    run = netsim()
    assert (run.status, run.out.strip()) == (0, "")


@pytest.mark.parametrize(
    ("wanted", "there", "not_there"),
    [
        (
            "network.coil",
            ["[network.coil]", "[[network.coil.winding]]", "tap_step"],
            ["[stage]", "[network.output_coil]"],
        ),
        ("coil_turns", ["[[bands]]", "coil_turns"], ["[network.coil]", "tune_padding"]),
        ("[[bands]]", ["[[bands]]", "frequencies"], ["[stage]"]),
    ],
)
def test_explain_tells_of_keys(netsim, wanted, there, not_there):
    run = netsim("explain", wanted)
    assert run.status == 0
    assert all(word in run.out for word in there)
    assert not any(word in run.out for word in not_there)


def test_a_mistyped_command_is_told_which_is_meant(netsim):
    run = netsim("chek", "x.toml")
    assert run.status == 2
    assert "did you mean 'check'?" in run.err
    assert "there are check, report" in netsim("frobnicate").err


def test_a_standing_wave_ratio_is_taken_as_it_is_written(netsim, circuits):
    command = "check", str(circuits / "old-tubes.toml"), "--engine", "two-port", "--json", "--swr"
    by_ratio, by_number = (netsim(*command, value) for value in ("2:1", "2"))
    assert by_ratio.out == by_number.out
    assert '"any_antenna"' in by_ratio.out
    wrong = netsim(*command, "2:x")
    assert wrong.status == 2
    assert "such as 2 or 2:1" in wrong.out + wrong.err
