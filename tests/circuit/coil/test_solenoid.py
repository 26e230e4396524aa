import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from netsim.circuit.coil.mutual_inductance import coaxial_circles
from netsim.circuit.coil.solenoid import (
    current_sheet_inductance,
    nagaoka_coefficient,
    rosa_pair_sum,
    rosa_size_correction,
    rosa_turns_correction,
    solenoid_inductance,
)

MU0 = 4e-7 * np.pi


def test_a_very_long_coil_is_endless():
    # Derived: K_N = 1 - 4 D / (3 pi l) + D^2 / (8 l^2) - ...
    ratio = np.array([1e3, 1e5, 1e9])
    np.testing.assert_allclose(
        nagaoka_coefficient(ratio), 1.0 - 4.0 / (3.0 * np.pi * ratio) + 0.125 / ratio**2, rtol=1e-12
    )


def test_a_very_short_coil_is_a_ribbon():
    # Derived: a ribbon of width l bent to a circle, L = mu0 a n^2 (ln(8 a / l) - 1/2) + O(l^2).
    length = np.array([1e-4, 1e-6, 1e-9])
    ribbon = MU0 * 9.0 * (np.log(8.0 / length) - 0.5)
    np.testing.assert_allclose(current_sheet_inductance(3.0, 2.0, length), ribbon, rtol=1e-8)


def test_the_series_of_short_coils_meets_the_closed_form():
    # Derived: smooth across the change-over at l/D = 0.0316; second differences stay at their own size.
    ratio = np.linspace(0.0315, 0.0318, 31)
    curve = np.diff(nagaoka_coefficient(ratio), 2)
    assert np.ptp(curve) < 0.05 * np.abs(curve).max()


def test_one_turn_is_the_circle_of_its_wire():
    # Derived: a circle of round wire with uniform current, mu0 a (ln(8 a / r) - 7/4); Rosa drops (p/a)^2.
    radius, wire = 0.03, 0.0005
    circle = MU0 * radius * (np.log(8.0 * radius / wire) - 1.75)
    assert solenoid_inductance(1.0, 2 * radius, 0.0012, 2 * wire) == pytest.approx(circle, rel=5e-4)


@pytest.mark.parametrize(("turns", "pitch"), [(2, 0.002), (7, 0.004), (20, 0.003)])
def test_turn_by_turn(turns, pitch):
    # Derived: circles of wire and Maxwell's mutual inductance of every pair, added up. Rosa's corrections
    # are the first order in pitch over radius of exactly this sum.
    radius, wire = 0.03, 0.0009
    apart = np.subtract.outer(np.arange(turns), np.arange(turns))[~np.eye(turns, dtype=bool)] * pitch
    circles = turns * MU0 * radius * (np.log(8.0 * radius / wire) - 1.75)
    total = circles + coaxial_circles(radius, radius, apart).sum()
    assert solenoid_inductance(turns, 2 * radius, pitch, 2 * wire) == pytest.approx(total, rel=1e-3)


def test_pair_sum_of_two_turns():
    # Derived: c_1 = 3/2 - 2 ln 2, the mean distance of adjacent strips.
    assert rosa_pair_sum(2.0) == pytest.approx(2.0 * (1.5 - 2.0 * np.log(2.0)), rel=1e-12)


def test_pair_sum_of_many_turns():
    # Derived: the same sum by factorials, n B = 2 ln(1! 2! ... (n-1)!) - n^2 ln n + 3 n^2/2 - 3 n/2.
    from scipy.special import gammaln

    turns = np.array([3.0, 12.0, 40.0, 200.0])
    factorials = [2.0 * gammaln(np.arange(2.0, n + 1.0)).sum() for n in turns]
    expected = factorials - turns**2 * np.log(turns) + 1.5 * turns**2 - 1.5 * turns
    np.testing.assert_allclose(rosa_pair_sum(turns), expected, rtol=1e-9)
    np.testing.assert_allclose(rosa_turns_correction(turns), expected / turns, rtol=1e-9)


def test_fractions_of_turns_lie_between():
    assert rosa_pair_sum(4.5) == pytest.approx(0.5 * (rosa_pair_sum(4.0) + rosa_pair_sum(5.0)), rel=1e-12)
    assert rosa_pair_sum(np.array([0.0, 0.3, 1.0])) == pytest.approx(0.0, abs=0.0)


def test_skin_effect_takes_a_quarter_of_the_radius():
    # Derived: internal inductance mu0 / (8 pi) per metre over 2 pi a is mu0 a / 4.
    assert rosa_size_correction(2.0, 0.0) - rosa_size_correction(2.0) == pytest.approx(0.25)


def test_a_short_arc_goes_with_its_length():
    half = solenoid_inductance(0.5, 0.05, 0.009, 0.0085)
    shares = np.array([0.0, 0.01, 0.25, 0.5])
    np.testing.assert_allclose(
        solenoid_inductance(shares, 0.05, 0.009, 0.0085), 2.0 * shares * half, rtol=1e-12
    )
    # Derived: half a turn by Rosa, B = 0: half the ribbon squared, mu0 a (n^2 (ln(8 a/(n p)) - 1/2) - A n).
    ribbon = 0.25 * (np.log(8.0 * 0.025 / 0.0045) - 0.5) - 0.5 * (1.25 - np.log(2.0 * 9.0 / 8.5))
    assert half == pytest.approx(MU0 * 0.025 * ribbon, rel=5e-3)


@given(
    turns=st.floats(0.01, 60.0),
    diameter=st.floats(0.01, 0.2),
    spacing=st.floats(1.0, 8.0),
    wire=st.floats(0.0005, 0.008),
)
def test_more_turns_more_inductance(turns, diameter, spacing, wire):
    pitch = wire * spacing
    assume(pitch < 0.4 * diameter)
    fewer, more = solenoid_inductance(np.array([turns, turns * 1.01]), diameter, pitch, wire)
    assert 0.0 < fewer < more
