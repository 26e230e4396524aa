"""Findings, losses and assumptions of wound coils. Derived unless said otherwise."""

import numpy as np
import pytest
from samples import edited, judged

from netsim.circuit.coil.conductor import resistivity, skin_depth
from netsim.circuit.coil.self_capacitance import self_capacitance
from netsim.circuit.coil.tapped_coil import turn_losses


def of(result, code, part="coil"):
    return [f for f in result.verdict.findings if f.code == code and f.part == part]


def test_a_point_says_turns_q_and_loops(wound, tmp_path):
    result = judged(wound.read_text(), tmp_path)
    for band in result.verdict.bands:
        for point in band.points:
            coil = point.parts["coil"]
            reactance = 2 * np.pi * point.frequency_hertz * point.coil_henry
            # The loss by Q, at the fundamental; the harmonics add a little.
            assert reactance / point.coil_q * coil.current_rms_ampere**2 == pytest.approx(
                coil.loss_watt, rel=0.05
            )
            assert sum(loop.turns for loop in point.coil_loops) == pytest.approx(28 - point.coil_turns)
            assert 0 < sum(loop.loss_watt for loop in point.coil_loops) < coil.loss_watt
            assert point.output_coil_loops == ()
            assert point.output_coil_free_end_voltage_peak_volt is not None


def test_the_losses_of_loops_are_by_their_resistance(wound, tmp_path):
    solved = judged(wound.read_text(), tmp_path).solved
    coil, stress = solved.assembly.coil, solved.stress["coil"]
    # At the fundamental: share of resistance times the square of the rms current; the wire's share of the loss.
    in_loops = turn_losses(coil.winding, coil.tapped.turns, coil.tapped.frequency)[:, 1].sum(axis=1)
    by_hand = in_loops * stress.current_rms**2
    loss = coil.loop_loss_share[:, 0] * stress.loss * coil.conductor_share
    assert loss == pytest.approx(by_hand, rel=0.05)


def test_a_plain_file_says_nothing_of_turns(plain, tmp_path):
    result = judged(plain.read_text(), tmp_path)
    point = result.verdict.bands[0].points[0]
    assert (point.coil_turns, point.coil_q, point.coil_loops) == (None, None, ())
    assert (point.output_coil_turns, point.coil_free_end_voltage_peak_volt) == (None, None)
    codes = {f.code for f in result.verdict.findings}
    assert not codes & {"self_resonance", "tube_wall", "coil_temperature"}


def test_a_third_of_the_self_resonance_is_where_it_begins(wound, tmp_path):
    result = judged(wound.read_text(), tmp_path)
    found = next(f for f in of(result, "self_resonance") if f.band == "17 m")
    point = next(b for b in result.verdict.bands if b.name == "17 m").points[0]
    # 7 turns of tubing and 1 of wire, as one solenoid of their mean diameter.
    capacitance = float(self_capacitance((7 * 0.052 + 0.063) / 8, 0.07 + 0.005))
    resonance = 1 / (2 * np.pi * np.sqrt(point.coil_henry * capacitance))
    assert found.limit == pytest.approx(resonance / 3, rel=1e-6)
    assert found.used_fraction == pytest.approx(3 * 18.1e6 / resonance, rel=1e-6)
    assert found.state == "pass"
    lines = wound.read_text().splitlines()
    assert lines[found.line - 1] == "coil_turns = 8"
    # The same coil with more of its turns in use: a little beyond a third.
    longer = judged(
        edited(wound, ("coil_turns = 8\noutput_coil_turns = 6", "coil_turns = 17\noutput_coil_turns = 6")),
        tmp_path,
    )
    found = next(f for f in of(longer, "self_resonance") if f.band == "17 m")
    assert found.state == "close"
    assert 1 < found.used_fraction < 1.9


def test_beyond_the_self_resonance_a_coil_is_none(wound, tmp_path):
    text = edited(
        wound,
        ('mean_diameter = "63 mm"', 'mean_diameter = "200 mm"'),
        ("coil_turns = 8\noutput_coil_turns = 6", "coil_turns = 28\noutput_coil_turns = 6"),
    )
    found = next(f for f in of(judged(text, tmp_path), "self_resonance") if f.band == "15 m")
    assert found.state == "over"
    assert found.used_fraction > 3


def test_open_turns_have_a_resonance_of_their_own(wound, tmp_path):
    result = judged(wound.read_text(), tmp_path)
    found = [f for f in of(result, "self_resonance", "output_coil") if f.quantity == "open_turns_resonance"]
    assert {f.band for f in found} == {"20 m", "17 m", "15 m"}
    assert not [f for f in of(result, "self_resonance") if f.quantity == "open_turns_resonance"]


def test_a_thin_wall_is_told_at_the_lowest_frequency_and_never_over(wound, tmp_path):
    result = judged(edited(wound, ('wall = "0.8 mm"', 'wall = "0.06 mm"')), tmp_path)
    found = {f.band: f for f in of(result, "tube_wall")}
    depth = float(skin_depth(resistivity("copper", 60), 3.5e6))
    assert found["80 m"].limit == pytest.approx(2 * depth)
    assert found["80 m"].state == "close"
    assert found["80 m"].frequency_hertz == 3.5e6
    assert found["15 m"].state == "pass"
    assert {f.state for f in of(judged(wound.read_text(), tmp_path), "tube_wall")} == {"pass"}


def test_temperature_is_close_at_most(wound, tmp_path):
    hot = edited(wound, ('temperature_rating = "200 degC"', 'temperature_rating = "45 degC"'))
    found = of(judged(hot, tmp_path), "coil_temperature", "output_coil")
    assert found
    assert {f.state for f in found} == {"close"}
    assert max(f.used_fraction for f in found) > 1
    unrated = of(judged(hot, tmp_path), "coil_temperature", "coil")
    assert [(f.state, f.band) for f in unrated] == [("not_rated", None)]
    assert "estimated at" in unrated[0].why


def test_duty_counts_for_heat_alone(wound, tmp_path):
    whole = judged(edited(wound, ("duty = 0.4\n", "")), tmp_path)
    part = judged(wound.read_text(), tmp_path)

    def key(finding):
        return finding.code, finding.band, finding.part, finding.quantity, finding.case

    pairs = [
        (a, b)
        for a in whole.verdict.findings
        for b in part.verdict.findings
        if key(a) == key(b) and a.value is not None
    ]
    assert len(pairs) > 60
    for full, reduced in pairs:
        if full.code == "part_power":
            assert reduced.value == pytest.approx(0.4 * full.value)
            assert full.case != "matched" or "duty of 0.4" in reduced.message
        elif full.code == "coil_temperature":
            assert 40 < reduced.value < full.value
        else:
            assert reduced.value == pytest.approx(full.value, rel=1e-9), full.code
    assert part.verdict.bands[0].points[0] == whole.verdict.bands[0].points[0]


def test_what_was_supposed_is_listed(wound, tmp_path):
    result = judged(wound.read_text(), tmp_path)
    keys = [(a.part, a.key) for a in result.verdict.assumptions]
    for key in ("lead_inductance", "strap_inductance", "temperature", "q_allowance"):
        assert ("coil", key) in keys
        assert ("output_coil", key) not in keys
    allowance = next(a for a in result.verdict.assumptions if a.key == "q_allowance")
    assert "70%" in allowance.assumed
    assert ("output_coil", "core_loss_share") in keys
    assert ("coil", "q") not in keys


def test_a_measured_q_needs_no_allowance_and_no_measurements(wound, tmp_path):
    result = judged(
        edited(wound, ("[network.coil]\n", "[network.coil]\nunloaded_q = 240\nq = 300\n")), tmp_path
    )
    found = {(a.part, a.key): a.assumed for a in result.verdict.assumptions}
    assert ("coil", "q_allowance") not in found
    assert ("coil", "unloaded_q") not in found
    assert "not used" in found["coil", "q"]
    assert result.verdict.bands[0].points[0].coil_q == pytest.approx(240)
    power = next(f for f in of(result, "part_power") if f.band == "80 m")
    assert power.value > 0


def test_a_conductor_too_thin_for_its_skin_is_told(wound, tmp_path):
    # Derived: five skin depths of warm copper are 0.19 mm at 3.5 MHz.
    thin = judged(
        edited(wound, ('conductor_diameter = "2.5 mm"', 'conductor_diameter = "0.15 mm"')), tmp_path
    )
    told = [a.assumed for a in thin.verdict.assumptions if (a.part, a.key) == ("coil", "unloaded_q")]
    assert len(told) == 1
    assert "five skin depths (80 m)" in told[0]


def test_what_becomes_of_unused_turns_by_default(wound, tmp_path):
    plain = edited(wound, ('unused_turns = "progressive"\n', ""), ('unused_turns = "open"\n', ""))
    told = {a.part: a.assumed for a in judged(plain, tmp_path).verdict.assumptions if a.key == "unused_turns"}
    assert "one shorted loop" in told["coil"]
    assert "left open" in told["output_coil"]
