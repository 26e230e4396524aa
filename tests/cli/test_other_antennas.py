"""Other antennas from the command line, and the demonstration with a tube."""

import hashlib
import json

import pytest


def worst(out):
    found = json.loads(out)["findings"]
    return max(f["used_fraction"] or 0 for f in found if f["case"] == "any_antenna")


def test_another_swr_changes_the_answer_and_not_the_file(netsim, circuits):
    path = circuits / "old-tubes.toml"
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    arguments = ("check", path, "--json", "--engine", "two-port", "--band", "40 m")
    plain, three, six = (netsim(*arguments, *more) for more in ((), ("--swr", 3), ("--swr", "6")))
    assert "any_antenna" not in plain.out
    assert worst(six.out) > worst(three.out) > 0
    assert (plain.status, six.status) == (0, 1)
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before


@pytest.mark.parametrize("command", ["check", "report"])
@pytest.mark.parametrize("swr", ["0.9", "101", "nan", "-2"])
def test_no_standing_wave_ratio(netsim, plain, tmp_path, command, swr):
    where = ("-o", tmp_path / "page.html") if command == "report" else ()
    run = netsim(command, plain, f"--swr={swr}", "--engine", "two-port", *where)
    assert run.status == 2
    assert f"ratio of 1 to 100 is wanted; found {swr}" in run.err
    assert run.out == ""
    assert not any(tmp_path.iterdir())


def test_what_is_no_number(netsim, plain):
    run = netsim("check", plain, "--swr", "much")
    assert run.status == 2
    assert "such as 2 or 2:1; found 'much'" in run.err


def test_the_demonstration_tells_dip_worst_and_share(netsim, circuits):
    """Cross-checked: ngspice over time runs, and its difference is printed."""
    run = netsim("check", circuits / "new-tube-on-the-air.toml", "--band", "10 m", "--all")
    assert run.status == 1
    assert max(map(len, run.out.splitlines())) <= 80
    assert "mA at the match (tune " in run.out
    assert "detuned" in run.out
    assert "On the antennas up to an SWR of 2" in run.out
    assert "cannot be matched" in run.out
    row = run.out.partition("to ngspice")[2].splitlines()[2]
    assert row.split()[0:2] == ["10", "m"]
    assert float(row.split()[-2]) < 0.1
    assert row.endswith("dB ") or row.rstrip().endswith("dB")


@pytest.mark.slow
def test_the_report_says_which_swr_was_asked_for(netsim, plain, tmp_path, monkeypatch):
    from netsim.advice import coverage

    monkeypatch.setattr(coverage, "coverage_maps", lambda *_, **__: ())
    path = tmp_path / "page.html"
    run = netsim("report", plain, "--swr", 3, "--engine", "two-port", "-o", path)
    assert run.status == 0
    page = path.read_text(encoding="utf-8")
    assert "SWR 3, asked for with --swr" in page
    assert "antennas up to an SWR of 3" in page
