from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from netsim.circuit.coil.conductor import skin_depth
from netsim.circuit.coil.rings import turn_matrices
from netsim.circuit.coil.self_capacitance import self_capacitance
from netsim.circuit.coil.tapped_coil import loop_shares, segment_ends, tapped_coil, turn_losses
from netsim.circuit.coil.winding import COPPER_60C, Solenoid, Toroid, Winding
from netsim.errors import DescriptionError

TUBING = Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
WIRE = Solenoid(turns=14.0, mean_diameter=0.052, pitch=0.0035, conductor_diameter=0.002, gap=0.012)
RING = Toroid(turns=9.0, inductance_per_turn_squared=11e-9, unloaded_q=210.0)
PROGRESSIVE = Winding((TUBING, WIRE), "progressive", (3.0, 6.5, 11.0))
STRAP = Winding((TUBING, WIRE))
OPEN = Winding((TUBING, WIRE), "open")
# Two whole sections with marks on whole turns, for sums by hand.
MARKS = (3.0, 5.0, 8.0, 12.0, 16.0)
MARKED = (
    Solenoid(turns=6, mean_diameter=0.05, pitch=0.009, conductor_diameter=0.006),
    Solenoid(turns=14, mean_diameter=0.06, pitch=0.005, conductor_diameter=0.0025, gap=0.01),
)


def segments(winding, turns):
    """Inductances of the active turns and the loops, straps and leads left out."""
    matrices = turn_matrices(winding.sections)
    ends = segment_ends(winding, np.array([float(turns)]))
    return matrices.between(matrices.inductance[np.newaxis], ends, ends)[0, 0]


def test_q_of_a_plain_coil():
    # Published: Medhurst's factor, pitch two wires, 1.67 at length 1 of the diameter and 1.74 at 2; his coils had
    # more turns. Derived: times the skin effect of the straight wire, d / (4 delta) + 1/4 of its value at DC.
    coil = tapped_coil(Winding((Solenoid(20.0, 0.06, 0.004, 0.002),)), 20.0, 3.6e6)
    depth = skin_depth(COPPER_60C, 3.6e6)
    length = 20.0 * np.hypot(np.pi * 0.06, 0.004)
    straight = COPPER_60C * length / (np.pi * 1e-6) * (1e-3 / (2.0 * depth) + 0.25)
    assert coil.resistance[0] / straight == pytest.approx(1.70, rel=0.08)
    assert coil.q[0] == pytest.approx(2 * np.pi * 3.6e6 * coil.inductance[0] / coil.resistance[0])
    # Common practice: an air coil of this size has a Q of some hundreds.
    assert 200.0 < coil.q[0] < 800.0


def test_resistance_goes_with_the_root_of_the_frequency():
    coil = tapped_coil(OPEN, 12.0, [7e6, 28e6])
    # Derived: twice, but for the bend of the surface, delta / d more.
    assert coil.resistance[1] / coil.resistance[0] == pytest.approx(2.0, rel=0.01)
    assert coil.inductance[0] == coil.inductance[1]


def test_lossless_limit_of_the_shorted_loops():
    # Derived: L1 - m^T L22^-1 m, approached as the loops' reactance outgrows their resistance.
    matrix = segments(PROGRESSIVE, 2.0)
    matrix[1:, 1:] += np.diag([20e-9] * 4)
    expected = matrix[0, 0] - matrix[0, 1:] @ np.linalg.solve(matrix[1:, 1:], matrix[1:, 0])
    coil = tapped_coil(PROGRESSIVE, 2.0, 30e6)
    assert coil.inductance[0] == pytest.approx(expected, rel=1e-4)
    currents = -np.linalg.solve(matrix[1:, 1:], matrix[1:, 0])
    np.testing.assert_allclose(coil.loop_current[0].real, currents, rtol=5e-3, atol=1e-4)


def test_a_strap_of_no_length_and_a_long_one():
    # Derived: with one loop, i = -M / (L2 + strap).
    matrix = segments(STRAP, 16.5)
    for strap in (0.0, 20e-9, 300e-9):
        coil = tapped_coil(replace(STRAP, strap_inductance=strap), 16.5, 14e6)
        assert coil.loop_current[0, 0].real == pytest.approx(-matrix[0, 1] / (matrix[1, 1] + strap), rel=2e-3)


def test_no_cliff_at_the_last_sliver_of_a_turn():
    # The loop's share of the coil fades with its length, as the strap comes to rule it.
    coil = tapped_coil(STRAP, [18.0, 18.9, 18.99, 18.999, 19.0], 7e6)
    assert np.all(np.diff(np.abs(coil.loop_current[:, 0])) < 0.0)
    assert abs(coil.loop_current[3, 0]) < 0.05
    assert coil.contact_current[3].max() == pytest.approx(coil.contact_current[4].max(), rel=0.05)


def test_losses_add_up():
    # Derived: real power in is what the turns in use and all others turn to heat.
    turns, frequency = np.array([0.5, 2.0, 4.0, 8.3, 19.0]), np.full(5, 7e6)
    coil = tapped_coil(PROGRESSIVE, turns, frequency)
    losses = turn_losses(PROGRESSIVE, turns, frequency)
    np.testing.assert_allclose(losses.sum(axis=(1, 2)), coil.resistance, rtol=1e-9)
    in_loops = loop_shares(PROGRESSIVE, turns, frequency) * coil.wire_resistance[:, np.newaxis]
    np.testing.assert_allclose(losses[:, 1:].sum(axis=2), in_loops, rtol=1e-9, atol=1e-12)
    # Within a turn that a tap divides, the field of others is spread evenly over both arcs.
    assert losses.min() > -0.02 * losses.max()


def test_neighbours_of_the_tap_get_hot_without_a_current():
    # A turn beside the tap lies in the field of those in use, and one far off does not.
    losses = turn_losses(OPEN, np.array([8.0]), np.array([14e6]))[0, 1]
    assert losses[:8].sum() == 0.0
    assert losses[8] > 50 * losses[18] > 0.0
    assert losses[8] < turn_losses(OPEN, np.array([8.0]), np.array([14e6]))[0, 0, 7]


def test_shorted_turns_cost_inductance_and_q():
    shorted, free = (tapped_coil(winding, [3.0, 6.0, 9.0], 7e6) for winding in (STRAP, OPEN))
    assert np.all(shorted.inductance < free.inductance)
    assert np.all(shorted.q < free.q)
    assert free.loop_current.shape == (3, 0)


def test_loops_beyond_the_tap():
    coil = tapped_coil(PROGRESSIVE, [2.0, 3.0, 4.0, 12.0, 19.0], 7e6)
    # Derived: edges 0, 3, 6.5, 11, 19, less what is active.
    expected = [[1, 3.5, 4.5, 8], [0, 3.5, 4.5, 8], [0, 2.5, 4.5, 8], [0, 0, 0, 7], [0, 0, 0, 0]]
    np.testing.assert_allclose(coil.loop_turns, expected)
    idle = coil.loop_turns == 0.0
    assert np.all(coil.loop_current[idle] == 0.0)
    assert np.all(np.abs(coil.loop_current[~idle]) > 0.0)


def test_whole_coil_has_no_loop():
    whole, free = tapped_coil(STRAP, 19.0, 7e6), tapped_coil(OPEN, 19.0, 7e6)
    assert whole.inductance[0] == pytest.approx(free.inductance[0], rel=1e-12)
    assert whole.q[0] == pytest.approx(free.q[0], rel=1e-12)
    assert free.free_end_ratio[0] == 0.0
    assert free.free_end_resonance[0] == np.inf


def test_contacts_by_kirchhoff():
    # Derived: at every contact what comes along the winding on one side less what goes on the other.
    coil = tapped_coil(PROGRESSIVE, [2.0, 4.0, 12.0, 19.0], 7e6)
    loop = coil.loop_current
    one, two, three, four = coil.contact_current
    expected = np.abs(np.diff([1.0, *loop[0], 0.0]))
    np.testing.assert_allclose(one, expected)
    np.testing.assert_allclose(two, [0, *np.abs(np.diff([1.0, *loop[1, 1:], 0.0]))])
    np.testing.assert_allclose(three, [0, 0, 0, abs(1 - loop[2, 3]), abs(loop[2, 3])])
    np.testing.assert_allclose(four, [0, 0, 0, 0, 1])
    # The loop's flux opposes, so its current adds to the coil's at the tap.
    assert np.all(coil.contact_current[:3].max(axis=1) > 1.1)
    assert tapped_coil(OPEN, 4.0, 7e6).contact_current.tolist() == [[1.0]]


def flux_by_hand(unused, turns):
    """Flux through the active turns per ampere [H], from whole turns alone."""
    matrix = turn_matrices(MARKED).inductance
    place = np.arange(20)
    groups = [place < turns]
    if unused == "strap":
        groups.append(place >= turns)
    elif unused == "progressive":
        bounds = [turns, *(mark for mark in MARKS if mark > turns), 20.0]
        groups += [(place >= a) & (place < b) for a, b in pairwise(bounds)]
    groups = np.array(groups, dtype=float)
    loops = groups @ matrix @ groups.T + np.diag([0.0, *[20e-9] * (len(groups) - 1)])
    currents = np.ones(len(groups))
    if len(groups) > 1:
        currents[1:] = -np.linalg.solve(loops[1:, 1:], loops[1:, 0])
    return (matrix @ (groups.T @ currents))[place < turns].sum()


@pytest.mark.parametrize("unused", ["strap", "progressive", "open"])
@pytest.mark.parametrize("turns", [5.0, 8.0, 12.0])
def test_inductance_with_loops_from_single_turns(unused, turns):
    coil = tapped_coil(Winding(MARKED, unused, MARKS), turns, 7e6, lead_inductance=0.0)
    # Losses of the loops, which the single turns do not have, shift their currents by a part in Q.
    assert coil.inductance[0] == pytest.approx(flux_by_hand(unused, turns), rel=1e-3)


def test_inductance_is_continuous_where_a_loop_vanishes():
    coil = tapped_coil(PROGRESSIVE, [6.499, 6.5, 6.501], 7e6)
    assert np.ptp(coil.inductance) < 2e-3 * coil.inductance[1]


def test_allowance_and_measured_q():
    plain = tapped_coil(STRAP, [4.0, 9.0], 7e6)
    allowed = tapped_coil(STRAP, [4.0, 9.0], 7e6, q_allowance=0.7)
    np.testing.assert_allclose(allowed.q, 0.7 * plain.q, rtol=1e-12)
    measured = tapped_coil(STRAP, [4.0, 9.0], 7e6, q_allowance=0.7, measured_q=240.0)
    np.testing.assert_allclose(measured.q, 240.0, rtol=1e-12)
    np.testing.assert_allclose(measured.inductance, plain.inductance, rtol=1e-12)
    np.testing.assert_allclose(allowed.wire_resistance, 0.7 * allowed.resistance, rtol=1e-12)


def test_a_ring_keeps_its_q():
    coil = tapped_coil(Winding((RING,), "open"), 9.0, 1.9e6)
    assert coil.inductance[0] == pytest.approx(11e-9 * 81.0)
    assert coil.q[0] == pytest.approx(210.0)
    assert coil.self_capacitance[0] == 0.0
    assert coil.self_resonance[0] == np.inf


def test_free_end_is_a_transformer():
    # Derived: at low frequency the ratio is M / L1; self-capacitance raises it by 1 / (1 - (f / f2)^2).
    matrix = segments(STRAP, 4.0)
    low = tapped_coil(OPEN, 4.0, 1e5)
    assert low.free_end_ratio[0] == pytest.approx(matrix[0, 1] / matrix[0, 0], rel=1e-3)
    resonance = low.free_end_resonance[0]
    # Derived: unused 1 turn of 48 mm and 14 of 52 mm, as one solenoid of their mean diameter and length.
    capacitance = self_capacitance((0.048 + 14 * 0.052) / 15, 0.008 + 14 * 0.0035)
    assert resonance == pytest.approx(1 / (2 * np.pi * np.sqrt(matrix[1, 1] * capacitance)), rel=1e-9)
    third = tapped_coil(OPEN, 4.0, resonance / 3.0)
    assert third.free_end_ratio[0] == pytest.approx(low.free_end_ratio[0] / (1.0 - 1.0 / 9.0), rel=2e-3)


def test_a_ring_transforms_by_turns():
    # Derived: all turns of a core couple alike, so three more turns on six carry half the voltage.
    coil = tapped_coil(Winding((RING,), "open"), 6.0, 1.9e6)
    assert coil.free_end_ratio[0] == pytest.approx(0.5, rel=1e-4)


def test_a_thin_conductor_in_use_is_told():
    # Derived: 2 mm are five skin depths of warm copper at 32 kHz.
    edge = float(skin_depth(COPPER_60C, 1.0) * 5.0 / 0.002) ** 2
    told = tapped_coil(STRAP, [4.0, 4.0, 15.0, 15.0], [1.01 * edge, 0.99 * edge] * 2).thin_conductor
    assert told.tolist() == [False, False, False, True]


SCALES = [
    ((0, "mean_diameter"), 1.05),
    ((1, "mean_diameter"), 0.92),
    ((1, "pitch"), 1.08),
    ((0, "pitch"), 0.95),
    ((0, "conductor_diameter"), 1.06),
    ((1, "gap"), 1.3),
    ((1, "resistivity"), 1.2),
]


@pytest.mark.parametrize(("size", "factor"), SCALES)
@pytest.mark.parametrize("winding", [PROGRESSIVE, OPEN])
def test_scaled_sizes_against_a_coil_of_that_size(winding, size, factor):
    turns, frequency = [2.0, 4.75, 9.0, 17.0], [28e6, 14e6, 7e6, 3.6e6]
    section, name = size
    sections = list(winding.sections)
    sections[section] = replace(sections[section], **{name: getattr(sections[section], name) * factor})
    other = tapped_coil(replace(winding, sections=tuple(sections)), turns, frequency, 0.7)
    scaled = tapped_coil(winding, turns, frequency, 0.7, scale={size: factor})
    assert scaled.inductance == pytest.approx(other.inductance, rel=2e-3)
    assert scaled.resistance == pytest.approx(other.resistance, rel=1e-2)
    assert scaled.contact_current == pytest.approx(other.contact_current, abs=3e-3)
    # Medhurst's table has kinks.
    assert scaled.self_capacitance == pytest.approx(other.self_capacitance, rel=0.02)
    plain = tapped_coil(winding, turns, frequency, 0.7)
    assert np.abs(scaled.resistance / plain.resistance - 1.0).max() > 0.004


def test_every_place_has_factors_of_its_own():
    factors = {(0, "mean_diameter"): np.array([1.0, 1.04, 0.97]), (1, "pitch"): np.array([1.0, 0.98, 1.05])}
    together = tapped_coil(STRAP, [4.0, 9.0, 9.0], 7e6, scale=factors)
    assert together.inductance[0] == pytest.approx(tapped_coil(STRAP, 4.0, 7e6).inductance[0], rel=1e-12)
    for place in (1, 2):
        alone = tapped_coil(STRAP, 9.0, 7e6, scale={size: factor[place] for size, factor in factors.items()})
        assert together.inductance[place] == pytest.approx(alone.inductance[0], rel=1e-12)
    leads = tapped_coil(STRAP, [9.0, 9.0], 7e6, lead_inductance=np.array([0.0, 50e-9]))
    assert np.diff(leads.inductance)[0] == pytest.approx(50e-9, rel=1e-9)


@pytest.mark.parametrize("winding", [PROGRESSIVE, STRAP, OPEN])
def test_many_positions_are_the_single_ones(winding):
    turns, frequency = np.linspace(0.3, 19.0, 23), np.linspace(2e6, 29e6, 23)
    together = tapped_coil(winding, turns, frequency)
    names = (
        "inductance",
        "resistance",
        "q",
        "loop_current",
        "free_end_ratio",
        "self_resonance",
    )
    for index in range(turns.size):
        alone = tapped_coil(winding, float(turns[index]), float(frequency[index]))
        for name in names:
            np.testing.assert_allclose(
                getattr(alone, name)[0], getattr(together, name)[index], rtol=1e-9, atol=1e-15
            )


def test_one_tap_at_many_frequencies():
    coil = tapped_coil(STRAP, 6.0, [3.6e6, 7.1e6, 14.2e6])
    assert coil.inductance.shape == (3,)
    np.testing.assert_allclose(coil.inductance, coil.inductance[0], rtol=1e-3)
    assert np.all(np.diff(coil.q) > 0.0)


def test_off_the_winding_is_refused():
    with pytest.raises(DescriptionError, match="19 turns"):
        tapped_coil(STRAP, [3.0, 20.0], 7e6)
