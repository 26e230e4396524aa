"""Wound coils in a set of networks: from the file to inductance, Q and loops. Derived: tap by tap."""

from dataclasses import replace

import numpy as np
import pytest
from samples import amplifier_from, edited

from netsim.circuit.assembly import assemble
from netsim.circuit.coil.conductor import resistivity
from netsim.circuit.coil.rings import HELIX, coaxial_circles, turn_matrices
from netsim.circuit.coil.tapped_coil import tapped_coil, turn_losses
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
    in_loops = turn_losses(coil.winding, tapped.turns, tapped.frequency)[:, 1:].sum(axis=2)
    assert coil.loop_loss_share * tapped.wire_resistance[:, None] == pytest.approx(in_loops)
    assert coil.conductor_share == pytest.approx(np.full(8, 0.7))
    for row, heated in enumerate(coil.heated(np.arange(8))):
        assert sum(part.share for part in heated) == pytest.approx(1.0)
        idle = sum(part.share for part in heated if not part.in_use)
        assert idle == pytest.approx(coil.loop_loss_share[row].sum(), abs=1e-9)
        used = sum(part.turns for part in heated if part.in_use)
        assert used == tapped.turns[row]
    # On a toroid there is no surface to shed heat from, so its share is in none of them.
    assert sum(part.share for part in assembly.output_coil.heated([0])[0]) < 0.9


def test_a_band_alone_sees_the_same_switch_as_all_together(wound, assembly):
    for index, rows in ((0, [0, 1]), (3, [6])):
        alone = assemble(read(wound), bands=[index])
        assert alone.coil.switch_voltage_ratio == pytest.approx(assembly.coil.switch_voltage_ratio[rows])
        assert alone.parts.coil == pytest.approx(assembly.parts.coil[rows])


def test_a_perpendicular_section_couples_to_nothing(wound, tmp_path):
    across = assemble(amplifier_from(edited(wound, ('gap = "15 mm"', "perpendicular = true")), tmp_path))
    sections = COIL.sections[0], replace(COIL.sections[1], gap=0.0, perpendicular=True)
    alone = Winding(sections, "progressive", COIL.taps)
    wanted = tapped_coil(alone, 25, 3.5e6, q_allowance=0.7)
    assert across.parts.coil[0] == pytest.approx(wanted.inductance[0], rel=1e-6)
    assert across.parts.coil[0] < 0.97 * assemble(read(wound)).parts.coil[0]


def test_self_capacitance_stands_beside_the_inductance(assembly):
    # Published: Medhurst, 0.46 pF/cm at length 1 of the diameter, 0.50 at 2: 17 turns here are 7 of 52 mm and 10 of
    # 63 mm, 120 mm long, 58.5 mm wide on the mean.
    at = assembly.coil.self_capacitance[2]
    assert at == pytest.approx(0.505 * 5.85 * 1e-12, rel=0.01)
    assert assembly.output_coil.self_capacitance[0] == pytest.approx(0.47 * 4.0 * 1e-12, rel=0.05)


def test_the_bands_of_a_progressive_switch_are_its_contacts(wound, tmp_path):
    derived = assemble(amplifier_from(edited(wound, ("taps = [6, 8, 12, 17]\n", "")), tmp_path))
    assert derived.coil.winding.taps == (8.0, 12.0, 17.0, 25.0)
    assert derived.coil.winding.loop_edges == (0.0, 8.0, 12.0, 17.0, 25.0, 28.0)
    written = assemble(
        amplifier_from(edited(wound, ("taps = [6, 8, 12, 17]", "taps = [8, 12, 17, 25]")), tmp_path)
    )
    assert derived.parts.coil == pytest.approx(written.parts.coil, rel=1e-12)


def test_samples_of_sizes_in_one_go(assembly, wound):
    index = np.repeat(np.arange(8), 100)
    sampled = assembly.coil.take(index)
    rng = np.random.default_rng(5)
    wide, strap, q = (rng.uniform(1 - limit, 1 + limit, index.size) for limit in (0.03, 0.5, 0.1))
    found = sampled.scaled(
        {(1, "mean_diameter"): wide},
        strap_inductance=20e-9 * strap,
        q_allowance=0.7 * q,
        turns=sampled.tapped.turns,
    )
    assert found.tapped.inductance.shape == (800,)
    assert found.conductor_share == pytest.approx(0.7 * q)
    for row in (3, 250, 777):
        one, two = COIL.sections
        winding = Winding(
            (one, replace(two, mean_diameter=0.063 * wide[row])),
            "progressive",
            COIL.taps,
            strap_inductance=20e-9 * strap[row],
        )
        alone = tapped_coil(winding, sampled.tapped.turns[row], sampled.tapped.frequency[row], 0.7 * q[row])
        assert found.tapped.inductance[row] == pytest.approx(alone.inductance[0], rel=1e-3)
        assert found.tapped.resistance[row] == pytest.approx(alone.resistance[0], rel=5e-3)
        assert found.contact_current_ratio[row] == pytest.approx(alone.contact_current.max(), rel=5e-3)


def test_coils_in_line_couple_and_coils_at_right_angles_do_not(wound, tmp_path):
    assert not assemble(read(wound)).parts.coupling.any()

    first = '[[network.output_coil.winding]]\nkind = "solenoid"\nturns = 10\n'

    def coupled(*lines):
        there = edited(wound, (first, first + "".join(f"{line}\n" for line in lines)))
        return assemble(amplifier_from(there, tmp_path))

    assert coupled("perpendicular = true").parts.coupling == pytest.approx(np.zeros(8))
    near, far = coupled('gap = "20 mm"'), coupled('gap = "80 mm"')
    assert near.parts.coupling[0] > 2 * far.parts.coupling[0] > 0.0
    # Open turns let through what shorted ones keep apart.
    text = edited(
        wound, (first, f'{first}gap = "20 mm"\n'), ('unused_turns = "progressive"', 'unused_turns = "open"')
    )
    opened = assemble(amplifier_from(text, tmp_path)).parts.coupling
    assert np.all(opened > 2 * np.abs(near.parts.coupling))
    # Derived: Maxwell's circles at the taps of 80 m, 25 of 28 turns and 10 of aluminium tube 40 mm wide, the three
    # turns between as one shorted loop.
    place = np.concatenate([(np.arange(7) + 0.5) * 0.01, 0.085 + (np.arange(21) + 0.5) * 0.005])
    radius = np.repeat([0.026, 0.0315], [7, 21])
    other = 0.19 + 0.02 + (np.arange(10) + 0.5) * 0.006
    mutual = coaxial_circles(radius[:, None], 0.02, other - place[:, None]).sum(axis=1)
    matrix = turn_matrices(COIL.sections).inductance
    loop = matrix[25:, 25:].sum() + 20e-9
    between = mutual[:25].sum() - matrix[:25, 25:].sum() / loop * mutual[25:].sum()
    expected = between * HELIX / np.sqrt(near.parts.coil[0] * near.parts.output_coil[0])
    assert near.parts.coupling[0] == pytest.approx(expected, rel=0.1)


def test_a_coupling_that_is_given_goes_before_where_the_windings_stand(wound, tmp_path):
    first = '[[network.output_coil.winding]]\nkind = "solenoid"\nturns = 10\n'
    changes = [
        (first, f'{first}gap = "20 mm"\n'),
        ("[network.output_coil]\n", "[network.output_coil]\ncoupling = -0.02\n"),
    ]
    parts = assemble(amplifier_from(edited(wound, *changes), tmp_path)).parts
    assert parts.coupling == -0.02


def test_self_capacitance_stands_across_wound_coils_alone(wound, plain):
    assembly = assemble(read(wound))
    for name, coil in assembly.wound.items():
        found = getattr(assembly.parts, f"{name}_capacitance")
        np.testing.assert_array_equal(found, coil.self_capacitance)
        assert (found > 0).any()
    bare = assemble(read(plain)).parts
    assert not bare.coil_capacitance.any()
    assert not bare.output_coil_capacitance.any()
