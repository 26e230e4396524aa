"""No number, no verdict: NaN put into solutions is an error of its own, never a pass."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from samples import TUBE, amplifier_from, edited

from netsim.analysis import analyse
from netsim.errors import NotFiniteError, SolveError
from netsim.solvers import batch, two_port
from netsim.verdict.findings import findings

PLAIN = Path(__file__).parents[1] / "examples" / "plain.toml"
ROW = 3  # 40 m, 7.15 MHz


@pytest.fixture(scope="module")
def solved(tmp_path_factory):
    text = edited(PLAIN, ("worst_swr = 2.0", "worst_swr = 1.5"))
    folder = tmp_path_factory.mktemp("finite")
    return analyse(amplifier_from(text + TUBE, folder), engine="two-port", samples=1).solved


def spoilt(array, place=ROW, value=np.nan):
    array = np.array(array)
    array[place] = value
    return array


def refused(solved, *words):
    with pytest.raises(NotFiniteError) as caught:
        findings(solved)
    problem = caught.value.problems[0]
    assert (problem.code, caught.value.status) == ("not_finite", 3)
    assert isinstance(caught.value, SolveError)
    for word in (*words, "'40 m'", "7.15 MHz"):
        assert word in problem.message
    assert problem.line == solved.amplifier.position("bands", 1).line


def test_what_is_finite_is_judged(solved):
    assert findings(solved)


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("plate_impedance", "plate impedance"),
        ("loaded_q", "loaded Q"),
        ("stored_energy_q", "stored-energy Q"),
        ("efficiency", "efficiency"),
        ("output_power", "output"),
    ],
)
@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_what_every_network_gives(solved, name, word, value):
    refused(replace(solved, **{name: spoilt(getattr(solved, name), ROW, value)}), word)


def test_a_level(solved):
    refused(replace(solved, level=spoilt(solved.level, (ROW, 4))), "harmonic_level", "matched")


def test_a_plate_match(solved):
    refused(replace(solved, swr=spoilt(solved.swr)), "plate_match")


@pytest.mark.parametrize("quantity", ["voltage_peak", "current_rms", "loss"])
def test_a_stress_rated_or_not(solved, quantity):
    for name in ("load_capacitor", "output_choke"):
        stress = solved.stress[name]
        broken = replace(stress, **{quantity: spoilt(getattr(stress, quantity))})
        refused(replace(solved, stress={**solved.stress, name: broken}), quantity, name)


@pytest.mark.parametrize("quantity", ["unloaded_voltage_peak", "reactive_power"])
def test_a_stress_that_not_every_part_has(solved, quantity):
    stress = solved.stress["load_capacitor"]
    broken = replace(stress, **{quantity: spoilt(getattr(stress, quantity))})
    refused(replace(solved, stress={**solved.stress, "load_capacitor": broken}), quantity, "load_capacitor")


def test_another_antenna(solved):
    found = solved.any_antenna
    for name, word in (
        ("plate_swr", "plate_match"),
        ("plate_dissipation", "plate_dissipation"),
    ):
        broken = replace(found, **{name: spoilt(getattr(found, name), (ROW, 17))})
        refused(replace(solved, any_antenna=broken), word, "any_antenna")
    spread = spoilt(solved.harmonic_spread, (ROW, 3))
    refused(replace(solved, harmonic_spread=spread), "harmonic_spread")


def test_a_part_on_another_antenna(solved):
    found = solved.any_antenna
    for key in (("load_capacitor", "voltage_peak"), ("coil", "current_rms")):
        worst = found.worst[key]
        broken = {**found.worst, key: worst._replace(value=spoilt(worst.value))}
        refused(replace(solved, any_antenna=replace(found, worst=broken)), key[0], key[1], "any_antenna")


def test_what_is_shown_while_tuning(solved):
    meters = solved.meters[1]
    row = meters.row
    assert solved.assembly.band_index[row] == 1
    heat = (
        replace(meters, heat=meters.heat._replace(value=np.nan)) if hasattr(meters.heat, "_replace") else None
    )
    heat = heat or replace(meters, heat=replace(meters.heat, value=np.nan))
    broken = replace(solved, meters=(solved.meters[0], heat, solved.meters[2]))
    with pytest.raises(NotFiniteError, match=r"plate_dissipation .*while_tuning.*'40 m'"):
        findings(broken)


@pytest.mark.parametrize("place", [("antenna", (ROW, 2)), ("load_capacitor", (ROW, 0)), ("coil", (ROW, 8))])
def test_a_solver_that_gives_no_number(plain, tmp_path, monkeypatch, place):
    """The same through the whole walk, wherever in the solution it stands."""
    name, at = place
    real = two_port.solve

    def broken(ladder, orders):
        found = real(ladder, orders)
        if len(orders) < 10:
            return found
        currents = {**found.branch_current, name: spoilt(found.branch_current[name], at)}
        return replace(found, branch_current=currents)

    monkeypatch.setattr("netsim.analysis.networks.two_port.solve", broken)
    with pytest.raises(NotFiniteError, match=r"'40 m' at 7\.15 MHz"):
        analyse(amplifier_from(plain.read_text(), tmp_path), engine="two-port", swr=1.0)


@pytest.mark.parametrize("name", ["antenna", "load_capacitor", "coil"])
def test_one_load_of_many_that_gives_no_number(plain, tmp_path, monkeypatch, name):
    real = batch.solve

    def broken(ladder, orders):
        found = real(ladder, orders)
        if len(ladder) <= ROW * 576:
            return found
        currents = {**found.branch_current, name: spoilt(found.branch_current[name], (ROW * 576 + 5, 0))}
        return replace(found, branch_current=currents)

    monkeypatch.setattr("netsim.verdict.any_antenna.batch.solve", broken)
    with pytest.raises(NotFiniteError, match="any_antenna"):
        analyse(amplifier_from(plain.read_text(), tmp_path), engine="two-port", swr=2.0)
