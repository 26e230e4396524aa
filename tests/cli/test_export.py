"""``netsim export``: which network, which form."""

import io
import json

import pandas
import pytest
import skrf


def test_the_first_frequency_unless_another_is_named(netsim, plain):
    first = netsim("export", plain, "--band", "20 m", "--format", "netlist").out
    assert ".ac lin 10 14050000.0 140500000.0\n" in first
    other = netsim("export", plain, "--band", "20 m", "--frequency", "14.3 MHz", "--format", "netlist").out
    assert ".ac lin 10 14300000.0 143000000.0\n" in other
    assert (
        netsim("export", plain, "--band", "20 m", "--frequency", "14300kHz", "--format", "netlist").out
        == other
    )


@pytest.mark.parametrize(
    ("frequency", "code"),
    [
        ("14.3", "unit_missing"),
        ("14,3 MHz", "comma_in_number"),
        ("14.3 mHz", "unknown_frequency"),
        ("14.3 uH", "wrong_dimension"),
        ("7.05 MHz", "unknown_frequency"),
        ("nan MHz", "not_a_number"),
        ("", "not_a_number"),
    ],
)
def test_a_frequency_passes_the_same_gate_as_in_a_file(netsim, plain, frequency, code):
    run = netsim("export", plain, "--band", "20 m", "--frequency", frequency, "--format", "csv")
    assert run.status == 2
    assert run.out == ""
    assert f"[{code}]" in run.err


def test_csv_and_json_hold_all_points_or_the_one_named(netsim, plain):
    table = pandas.read_csv(io.StringIO(netsim("export", plain, "--band", "20 m", "--format", "csv").out))
    assert set(table.band) == {"20 m"}
    assert set(table.frequency_hertz) == {14.05e6, 14.3e6}
    arguments = ["export", plain, "--band", "20 m", "--frequency", "14.3 MHz", "--format"]
    table = pandas.read_csv(io.StringIO(netsim(*arguments, "csv").out))
    assert set(table.frequency_hertz) == {14.3e6}
    verdict = json.loads(netsim(*arguments, "json").out)
    (band,) = verdict["bands"]
    assert [point["frequency_hertz"] for point in band["points"]] == [14.3e6]


def test_json_is_what_check_prints(netsim, plain):
    exported = netsim("export", plain, "--band", "40 m", "--format", "json").out
    assert exported == netsim("check", plain, "--band", "40 m", "--json").out


def test_touchstone_to_a_file_reads_back(netsim, plain, tmp_path):
    target = tmp_path / "twenty.s2p"
    run = netsim("export", plain, "--band", "20 m", "--format", "touchstone", "-o", target)
    assert run.status == 0
    assert run.out == ""
    network = skrf.Network(str(target))
    assert network.nports == 2
    assert network.f[0] == pytest.approx(14.05e6 / 2)
    assert network.f[-1] == pytest.approx(140.5e6)


@pytest.mark.parametrize("form", ["netlist", "touchstone", "csv", "json"])
def test_not_cross_checked_is_said_in_every_form(netsim, plain, form):
    arguments = ["export", plain, "--band", "20 m", "--format", form]
    unchecked = netsim(*arguments, "--engine", "two-port")
    assert "not cross-checked" in unchecked.err
    checked = netsim(*arguments)
    assert checked.err == ""
    if form == "json":
        assert json.loads(unchecked.out)["cross_checked"] is False
        assert json.loads(checked.out)["cross_checked"] is True
    else:
        assert "not cross-checked" in unchecked.out
        assert "not cross-checked" not in checked.out
