"""What the switch carries. Derived: from the coils' own stress and the ratios of their windings."""

from dataclasses import replace

import numpy as np
import pytest
from samples import edited, judged

from netsim.verdict.band_switch import switch_stress
from netsim.verdict.stress import Stress


def volts(stress: Stress):
    return stress.voltage_peak, stress.rf_voltage_peak, stress.unloaded_voltage_peak


def test_without_winding_it_carries_what_the_coil_does(plain, tmp_path):
    found = judged(plain.read_text(), tmp_path).solved.stress
    switch, coil = found["band_switch"], found["coil"]
    for one, other in zip(volts(switch), volts(coil), strict=True):
        assert np.array_equal(one, other)
    paddings = [found[name].current_rms for name in ("tune_padding", "load_padding")]
    assert np.array_equal(switch.current_rms, np.max([coil.current_rms, *paddings], axis=0))
    assert np.array_equal(switch.current_rms, coil.current_rms)
    assert not switch.loss.any()


def test_with_windings_the_worst_contact_and_the_largest_current(wound, tmp_path):
    solved = judged(wound.read_text(), tmp_path).solved
    switch, coil, output = (solved.stress[name] for name in ("band_switch", "coil", "output_coil"))
    tank = solved.assembly.coil
    for kind in ("voltage_peak", "rf_voltage_peak", "unloaded_voltage_peak"):
        # The contract: what stands across the coil, here the higher of two; no turns are open.
        assert getattr(switch, kind) == pytest.approx(np.maximum(getattr(coil, kind), getattr(output, kind)))
    # Kirchhoff at the tap: the coil's current less that of the loop behind it, which is the first one left.
    behind = np.array([np.flatnonzero(turns)[0] for turns in tank.tapped.loop_turns])
    loop = tank.tapped.loop_current[np.arange(8), behind]
    assert switch.current_rms == pytest.approx(
        np.maximum(np.abs(1 - loop) * coil.current_rms, output.current_rms)
    )
    assert np.all(switch.current_rms > 1.1 * coil.current_rms)


def test_open_turns_put_the_voltage_of_their_free_end_on_the_switch(wound, tmp_path):
    text = edited(wound, ('unused_turns = "progressive"', 'unused_turns = "open"'))
    opened = judged(text, tmp_path)
    point = opened.verdict.bands[3].points[0]
    shorted = judged(wound.read_text(), tmp_path).verdict.bands[3].points[0]
    assert point.coil_loops == ()
    free = point.coil_free_end_voltage_peak_volt
    assert free > 0.2 * point.parts["coil"].voltage_peak_volt
    assert point.parts["band_switch"].voltage_peak_volt >= free
    assert shorted.coil_free_end_voltage_peak_volt is None
    assert len(shorted.coil_loops) == 3
    assert shorted.coil_loops[0].current_rms_ampere < shorted.parts["coil"].current_rms_ampere


def test_the_contact_of_a_tap_can_carry_more_than_the_coil_and_the_loop(wound, tmp_path):
    text = edited(
        wound,
        ('unused_turns = "progressive"', 'unused_turns = "strap"'),
        ("coil_turns = 25\n", "coil_turns = 27.5\n"),
    )
    result = judged(text, tmp_path)
    point = result.verdict.bands[0].points[0]
    (loop,), coil = point.coil_loops, point.parts["coil"]
    assert loop.turns == pytest.approx(0.5)
    assert loop.current_rms_ampere > coil.current_rms_ampere
    # Kirchhoff: the loop runs nearly against the coil, so the contact carries nearly both.
    assert point.parts["band_switch"].current_rms_ampere == pytest.approx(
        coil.current_rms_ampere + loop.current_rms_ampere, rel=1e-3
    )
    finding = next(
        f
        for f in result.verdict.findings
        if (f.part, f.code, f.band, f.case) == ("band_switch", "part_current", "80 m", "matched")
    )
    assert "hardest worked contact" in finding.why
    assert finding.value == pytest.approx(
        max(p.parts["band_switch"].current_rms_ampere for p in result.verdict.bands[0].points)
    )


def test_a_padding_has_a_contact_too(wound, tmp_path):
    # A coil that carries less than the load side's padding, as after a large step down, is not to be had from one
    # amplifier; so the stress itself is told.
    found = judged(wound.read_text(), tmp_path).solved
    stress = dict(found.stress)
    stress["load_padding"] = replace(stress["load_padding"], current_rms=np.full(8, 99.0))
    assert switch_stress(found.assembly.wound, stress).current_rms == pytest.approx(np.full(8, 99.0))
    assert switch_stress({}, stress).current_rms == pytest.approx(np.full(8, 99.0))


def test_a_band_with_an_inductance_keeps_the_plain_meaning(wound, tmp_path):
    found = judged(edited(wound, ("\ncoil_turns = 17\n", '\ncoil = "6.2 uH"\n')), tmp_path).solved.stress
    assert found["band_switch"].voltage_peak[2:4] == pytest.approx(found["coil"].voltage_peak[2:4])
