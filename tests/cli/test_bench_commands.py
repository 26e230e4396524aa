"""bench and fit from the command line: output, files, exit status, refusals."""

import json
import subprocess

import pytest


@pytest.fixture
def measured(circuits):
    return circuits / "on-the-bench.toml"


FAST = ("--engine", "two-port")


def test_bench_opens_with_the_cautions(netsim, measured):
    run = netsim("bench", measured, "--samples", "64", *FAST)
    assert run.status == 0
    words = " ".join(run.out.split())
    first = words.index("unplugged, waited, discharged")
    assert (
        first
        < words.index("Cold test:")
        < words.index("E_n")
        < words.index("Where the power of the plate goes")
    )
    assert "stay dead" in words
    assert "NOT CROSS-CHECKED" in words


def test_bench_without_readings_prints_the_card(netsim, circuits):
    run = netsim("bench", circuits / "old-tubes.toml", "--json", *FAST)
    told = json.loads(run.out)
    assert (run.status, told["readings"], len(told["cold_match"])) == (0, [], 6)


@pytest.mark.parametrize("resistor", ["3.3 kF", "10 Mohm", "much"])
def test_a_plate_resistor_that_is_none(netsim, measured, resistor):
    run = netsim("bench", measured, "--plate-resistor", resistor, "--json", *FAST)
    assert run.status == 2
    assert "--plate-resistor" in json.loads(run.out)["errors"][0]["message"]


@pytest.mark.parametrize("samples", ["0", "-4", "9999999"])
def test_samples_that_cannot_be(netsim, measured, samples):
    run = netsim("check", measured, "--samples", samples, "--json", *FAST)
    assert run.status == 2
    assert json.loads(run.out)["errors"][0]["code"] == "bad_samples"


def test_check_tells_ranges_and_what_to_measure(netsim, measured):
    run = netsim("check", measured, "--samples", "256", *FAST)
    words = " ".join(run.out.split())
    assert "unsure within the limits of what is known. To be sure, measure: " in words
    assert "≈ unsure: " in words
    assert "256 amplifiers within the limits of 7 quantities (7 of the file, 0 assumed)" in words


def test_the_same_result_byte_by_byte(netsim, measured):
    one, other = (netsim("check", measured, "--samples", "256", "--json", *FAST).out for _ in range(2))
    assert one == other


def test_fit_prints_a_patch_and_writes_the_same(netsim, measured, tmp_path):
    new, patched = tmp_path / "new.toml", tmp_path / "patched.toml"
    run = netsim("fit", measured, "--write", new, *FAST)
    assert run.status == 0
    patched.write_text(measured.read_text())
    subprocess.run(["patch", "-s", str(patched)], input=run.out, text=True, check=True)
    assert patched.read_text() == new.read_text()
    assert "# both tubes and their sockets" in new.read_text()
    words = " ".join(run.out.split())
    assert "The readings are explained" in words
    assert "told apart" in words
    again = netsim("fit", measured, "--write", new, *FAST)
    assert again.status == 2  # never over a file unasked


def test_fit_as_json(netsim, measured):
    told = json.loads(netsim("fit", measured, "--json", *FAST).out)
    keys = {
        "key",
        "line",
        "unit",
        "nominal",
        "low",
        "high",
        "fitted",
        "fitted_low",
        "fitted_high",
        "told_apart",
    }
    assert all(unknown.keys() >= keys for unknown in told["unknowns"])
    assert told["explained"] is True
    assert told["suspects"] == []
    assert told["degrees"] == 19
    assert told["readings"][0].keys() >= {"line", "what", "band", "computed", "measured", "en"}
    assert told["counts"]["after"]["unsure"] < told["counts"]["before"]["unsure"]


@pytest.mark.slow
def test_what_is_not_explained_is_not_adopted(netsim, circuits, tmp_path):
    run = netsim("fit", circuits / "padding-left-out.toml", "--write", tmp_path / "new.toml", *FAST)
    assert run.status == 1
    assert not (tmp_path / "new.toml").exists()
    assert "the load padding is not switched in" in " ".join(run.out.split())
    assert "Nothing was written" in run.err


def test_fit_without_readings(netsim, circuits):
    run = netsim("fit", circuits / "old-tubes.toml", "--json", *FAST)
    assert run.status == 2
    assert json.loads(run.out)["errors"][0]["code"] == "no_readings"


COLD = 'band = "20 m"\nfrequency = "14 MHz"\nplate'
BAD = {
    "a band that is not there": (
        'band = "20 m"\nfrequency = "14 MHz"\nplate',
        'band = "17 m"\nfrequency = "14 MHz"\nplate',
    ),
    "a dial outside its table": ("load_dial = ", "load_dial = 1"),
    "an SWR below 1": ('impedance = "', 'swr = 0.9 #"'),
    "a frequency of another band": (
        'band = "20 m"\nfrequency = "14 MHz"\nplate',
        'band = "20 m"\nfrequency = "21 MHz"\nplate',
    ),
    "both dial and capacitance": ("load_dial = ", 'load = "100 pF"\nload_dial = '),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_readings_are_told_with_line_and_column(netsim, measured, write, case):
    old, new = BAD[case]
    text = measured.read_text()
    assert old in text
    run = netsim("fit", write(text.replace(old, new, 1)), "--json")
    problem = json.loads(run.out)["errors"][0]
    assert run.status == 2
    assert problem["line"] > 120
    assert problem["column"] >= 1
    assert problem["key"].startswith("measured[")
