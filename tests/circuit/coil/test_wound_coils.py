"""Wound coils in a set of networks: from the file to inductance, Q and loops. Derived: tap by tap."""

from dataclasses import replace

import numpy as np
import pytest
from samples import amplifier_from, edited

from netsim.circuit.assembly import assemble
from netsim.circuit.coil.conductor_loss import resistivity
from netsim.circuit.coil.tapped_coil import tapped_coil
from netsim.circuit.coil.winding import Solenoid, Toroid, Winding
from netsim.description.reader import read

COIL = Winding(
    (
        Solenoid(7, 0.052, 0.01, 0.006, resistivity=float(resistivity("copper", 60))),
        Solenoid(21, 0.063, 0.005, 0.0025, gap=0.015, resistivity=float(resistivity("copper", 60))),
    ),
    "progressive",
    (6, 8, 12, 17),
)
OUTPUT = Winding(
    (
        Solenoid(10, 0.04, 0.006, 0.003, resistivity=float(resistivity("aluminium", 70))),
        Toroid(14, 15e-9, 220),
    ),
    "open",
    lead_inductance=20e-9,
)


@pytest.fixture
def assembly(wound):
    return assemble(read(wound))


def test_each_network_has_the_coil_of_its_tap(assembly):
    turns = [25, 25, 17, 17, 12, 12, 8, 8]
    output = [24, 24, 18, 18, 9, 9, 6, 6]
    frequency = assembly.parts.frequency
    for row in range(8):
        tank = tapped_coil(COIL, turns[row], frequency[row], q_allowance=0.7)
        assert assembly.parts.coil[row] == pytest.approx(tank.inductance[0], rel=1e-6)
        assert assembly.parts.coil_q[row] == pytest.approx(tank.q[0], rel=1e-6)
        second = tapped_coil(OUTPUT, output[row], frequency[row], q_allowance=0.8)
        assert assembly.parts.output_coil[row] == pytest.approx(second.inductance[0], rel=1e-6)
        assert assembly.parts.output_coil_q[row] == pytest.approx(second.q[0], rel=1e-6)


def test_bands_with_an_inductance_stand_beside_bands_with_turns(wound, tmp_path):
    text = edited(
        wound,
        ("\ncoil_turns = 17\n", '\ncoil = "6.2 uH"\n'),
        ("[network.coil]\n", "[network.coil]\nq = 300\n"),
    )
    mixed = assemble(amplifier_from(text, tmp_path))
    whole = assemble(read(wound))
    assert list(mixed.parts.coil[2:4]) == [6.2e-6, 6.2e-6]
    assert list(mixed.parts.coil_q[2:4]) == [300, 300]
    others = [0, 1, 4, 5, 6, 7]
    assert mixed.parts.coil[others] == pytest.approx(whole.parts.coil[others], rel=1e-6)
    assert list(mixed.coil.used) == [True, True, False, False, True, True, True, True]
    assert list(mixed.coil.spread(mixed.coil.tapped.turns, -1.0)[2:4]) == [-1.0, -1.0]


def test_a_file_without_turns_has_no_windings(plain):
    assert assemble(read(plain)).wound == {"coil": None, "output_coil": None}


def test_a_measured_q_rules_at_every_tap(wound, tmp_path):
    text = edited(wound, ("[network.coil]\n", "[network.coil]\nunloaded_q = 240\n"))
    assembly = assemble(amplifier_from(text, tmp_path))
    assert assembly.parts.coil_q == pytest.approx(np.full(8, 240.0))
    assert assembly.coil.conductor_share.max() < 1.0
    share = assembly.coil.loop_loss_share
    computed = assemble(read(wound)).coil.loop_loss_share
    assert share == pytest.approx(computed, rel=0.01)


def test_losses_of_loops_and_conductor_are_shares_of_the_coil(assembly):
    coil = assembly.coil
    tapped = coil.tapped
    power = tapped.open_resistance + tapped.loop_resistance.sum(axis=1)
    assert power == pytest.approx(tapped.resistance, rel=1e-9)
    assert coil.loop_loss_share * tapped.resistance[:, None] == pytest.approx(tapped.loop_resistance)
    assert coil.conductor_share == pytest.approx(np.full(8, 0.7))


def test_a_band_alone_sees_the_same_switch_as_all_together(wound, assembly):
    for index, rows in ((0, [0, 1]), (3, [6])):
        alone = assemble(read(wound), bands=[index])
        assert alone.coil.open_contact_ratio == pytest.approx(assembly.coil.open_contact_ratio[rows])
        assert alone.parts.coil == pytest.approx(assembly.parts.coil[rows])


def test_a_perpendicular_section_couples_to_nothing(wound, tmp_path):
    across = assemble(amplifier_from(edited(wound, ('gap = "15 mm"', "perpendicular = true")), tmp_path))
    sections = COIL.sections[0], replace(COIL.sections[1], gap=0.0, perpendicular=True)
    alone = Winding(sections, "progressive", COIL.taps)
    wanted = tapped_coil(alone, 25, 3.5e6, q_allowance=0.7)
    assert across.parts.coil[0] == pytest.approx(wanted.inductance[0], rel=1e-6)
    assert across.parts.coil[0] < 0.97 * assemble(read(wound)).parts.coil[0]
