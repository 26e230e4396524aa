import numpy as np
import pytest

from netsim.circuit.coil.conductor_loss import skin_depth
from netsim.circuit.coil.medhurst import proximity_factor, self_capacitance
from netsim.circuit.coil.partial_inductance import inductance_matrix
from netsim.circuit.coil.tapped_coil import tapped_coil
from netsim.circuit.coil.winding import COPPER_60C, Solenoid, Toroid, Winding
from netsim.errors import DescriptionError

TUBING = Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
WIRE = Solenoid(turns=14.0, mean_diameter=0.052, pitch=0.0035, conductor_diameter=0.002, gap=0.012)
RING = Toroid(turns=9.0, inductance_per_turn_squared=11e-9, unloaded_q=210.0)
PROGRESSIVE = Winding((TUBING, WIRE), "progressive", (3.0, 6.5, 11.0))
STRAP = Winding((TUBING, WIRE))
OPEN = Winding((TUBING, WIRE), "open")


def test_q_of_a_plain_coil():
    # Derived: rho / (pi d delta) per metre (thick skin neglected, +0.25 of the DC value), Medhurst's factor.
    winding = Winding((Solenoid(20.0, 0.06, 0.004, 0.002),))
    coil = tapped_coil(winding, 20.0, 3.6e6)
    depth = skin_depth(COPPER_60C, 3.6e6)
    length = 20.0 * np.hypot(np.pi * 0.06, 0.004)
    plain = COPPER_60C * length / (np.pi * 1e-6) * (1e-3 / (2.0 * depth) + 0.25)
    expected = plain * proximity_factor(0.08 / 0.06, 2.0)
    assert coil.resistance[0] == pytest.approx(expected, rel=1e-3)
    assert coil.q[0] == pytest.approx(2 * np.pi * 3.6e6 * coil.inductance[0] / expected, rel=1e-3)
    # Common practice: an air coil of this size has a Q of some hundreds.
    assert 200.0 < coil.q[0] < 800.0


def test_lossless_limit_of_the_shorted_loops():
    # Derived: L1 - m^T L22^-1 m, approached as the loops' reactance outgrows their resistance.
    matrix = inductance_matrix(PROGRESSIVE, [2.0])[0]
    expected = matrix[0, 0] - matrix[0, 1:] @ np.linalg.solve(matrix[1:, 1:], matrix[1:, 0])
    coil = tapped_coil(PROGRESSIVE, 2.0, 30e6)
    assert coil.inductance[0] == pytest.approx(expected, rel=1e-4)
    currents = -np.linalg.solve(matrix[1:, 1:], matrix[1:, 0])
    np.testing.assert_allclose(coil.loop_current[0].real, currents, rtol=5e-3, atol=1e-4)


def test_losses_add_up():
    # Derived: real power in is what active turns and loops turn to heat.
    coil = tapped_coil(PROGRESSIVE, [0.5, 2.0, 4.0, 8.0, 19.0], 7e6)
    np.testing.assert_allclose(
        coil.resistance, coil.open_resistance + coil.loop_resistance.sum(axis=1), rtol=1e-9
    )


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


def test_inductance_is_continuous_where_a_loop_vanishes():
    coil = tapped_coil(PROGRESSIVE, [6.499, 6.5, 6.501], 7e6)
    assert np.ptp(coil.inductance) < 2e-3 * coil.inductance[1]


def test_allowance_and_measured_q():
    plain = tapped_coil(STRAP, [4.0, 9.0], 7e6)
    allowed = tapped_coil(STRAP, [4.0, 9.0], 7e6, q_allowance=0.7)
    np.testing.assert_allclose(allowed.q, 0.7 * plain.q, rtol=1e-4)
    measured = tapped_coil(STRAP, [4.0, 9.0], 7e6, q_allowance=0.7, measured_q=240.0)
    np.testing.assert_allclose(measured.q, 240.0, rtol=1e-12)
    np.testing.assert_allclose(measured.inductance, plain.inductance, rtol=1e-12)
    np.testing.assert_allclose(measured.loop_resistance, plain.loop_resistance, rtol=1e-12)


def test_a_ring_keeps_its_q():
    coil = tapped_coil(Winding((RING,), "open"), 9.0, 1.9e6)
    assert coil.inductance[0] == pytest.approx(11e-9 * 81.0)
    assert coil.q[0] == pytest.approx(210.0)
    assert coil.self_capacitance[0] == 0.0
    assert coil.self_resonance[0] == np.inf


def test_free_end_is_a_transformer():
    # Derived: at low frequency the ratio is M / L1; self-capacitance raises it by 1 / (1 - (f / f2)^2).
    matrix = inductance_matrix(STRAP, [4.0])[0]
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


def test_reservations_follow_the_turns_in_use():
    told = tapped_coil(STRAP, [4.0, 15.0], 7e6).outside_measurements
    assert told.few_turns.tolist() == [True, True]
    wound = Winding((Solenoid(20.0, 0.06, 0.004, 0.002),))
    told = tapped_coil(wound, [7.0, 9.0, 20.0], 7e6).outside_measurements
    assert told.few_turns.tolist() == [True, False, False]
    assert told.any.tolist() == [True, False, False]
    with_a_short_end = Winding((Solenoid(20.0, 0.06, 0.004, 0.002), Solenoid(3.0, 0.06, 0.009, 0.002)))
    told = tapped_coil(with_a_short_end, [20.0, 21.0], 7e6).outside_measurements
    assert told.few_turns.tolist() == [False, True]


@pytest.mark.parametrize("winding", [PROGRESSIVE, STRAP, OPEN])
def test_many_positions_are_the_single_ones(winding):
    turns, frequency = np.linspace(0.3, 19.0, 23), np.linspace(2e6, 29e6, 23)
    together = tapped_coil(winding, turns, frequency)
    names = (
        "inductance",
        "resistance",
        "q",
        "loop_current",
        "loop_resistance",
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
