import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from netsim.circuit.coil.mutual_inductance import coaxial_circles, coaxial_sheet_potential, coaxial_solenoids
from netsim.circuit.coil.solenoid import current_sheet_inductance

MU0 = 4e-7 * np.pi


@pytest.mark.parametrize(
    ("first", "second", "apart"), [(0.03, 0.03, 0.01), (0.02, 0.05, 0.0), (0.01, 0.04, 0.2)]
)
def test_circles_are_neumanns_integral(first, second, apart):
    # Derived: mu0 a b / 2 times the integral over 0..2 pi of cos t / |r1 - r2|.
    def integrand(angle):
        return np.cos(angle) / np.sqrt(first**2 + second**2 + apart**2 - 2.0 * first * second * np.cos(angle))

    integral = 2.0 * integrate.quad(integrand, 0.0, np.pi, epsabs=0.0, epsrel=1e-10)[0]
    expected = 0.5 * MU0 * first * second * integral
    assert coaxial_circles(first, second, apart) == pytest.approx(expected, rel=1e-9)


def test_far_circles_are_dipoles():
    # Derived: M = mu0 pi a^2 b^2 / (2 z^3), 3/2 (a^2 + b^2) / z^2 less.
    expected = MU0 * np.pi * 0.01**2 * 0.02**2 / (2.0 * 1000.0**3)
    assert coaxial_circles(0.01, 0.02, 1000.0) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize(
    ("first", "second", "one", "two", "gap"),
    [
        (0.030, 0.039, 0.04, 0.06, 0.010),
        (0.030, 0.0303, 0.04, 0.03, 0.0),
        (0.060, 0.020, 0.01, 0.09, 0.0),
        (0.030, 0.030 * (1 + 1e-9), 0.03, 0.03, 0.0),
        (0.030, 0.030, 0.03, 0.05, 0.015),
    ],
)
def test_solenoids_are_the_double_integral_of_circles(first, second, one, two, gap):
    # Derived: a current sheet is a stack of filaments; numeric double integral of Maxwell's formula.
    def filament(there, here):
        return float(coaxial_circles(first, second, gap + here + there))

    integral = integrate.dblquad(filament, 0.0, one, 0.0, two, epsabs=0.0, epsrel=1e-9)[0]
    expected = 11.0 * 7.0 * integral / (one * two)
    ours = coaxial_solenoids(11.0, 2 * first, one, 7.0, 2 * second, two, gap)
    assert ours == pytest.approx(expected, rel=1e-8)


def test_potential_of_equal_circles_in_one_plane():
    # Derived: mu0 pi a^2 times the integral of J1(ka)^2 / k^2, which is 4 a / (3 pi).
    assert coaxial_sheet_potential(0.5, 0.5, 0.0) == pytest.approx(4.0 / 3.0 * MU0 * 0.5**3, rel=1e-12)


def test_second_derivative_of_the_potential_is_the_circles():
    step, apart = 1e-4, np.array([0.01, 0.03, 0.2])
    low, here, high = (coaxial_sheet_potential(0.03, 0.04, apart + shift * step) for shift in (-1, 0, 1))
    np.testing.assert_allclose(
        (low - 2.0 * here + high) / step**2, coaxial_circles(0.03, 0.04, apart), rtol=1e-4
    )


@given(
    share=st.floats(0.01, 0.99),
    turns=st.floats(2.0, 60.0),
    diameter=st.floats(0.01, 0.2),
    pitch=st.floats(1e-3, 0.02),
)
def test_a_solenoid_cut_in_two_is_the_whole(share, turns, diameter, pitch):
    # Derived: L = L1 + L2 + 2 M of the same current sheet.
    first, second = share * turns, (1.0 - share) * turns
    whole, one, two = current_sheet_inductance(
        np.array([turns, first, second]), diameter, np.array([turns, first, second]) * pitch
    )
    mutual = coaxial_solenoids(first, diameter, first * pitch, second, diameter, second * pitch, 0.0)
    assert one + two + 2.0 * mutual == pytest.approx(whole, rel=1e-9)


def test_many_pairs_at_once():
    gaps = np.linspace(0.0, 0.1, 7)
    together = coaxial_solenoids(5.0, 0.05, 0.03, np.arange(1.0, 4.0)[:, None], 0.06, 0.02, gaps)
    assert together.shape == (3, 7)
    assert together[1, 3] == pytest.approx(
        coaxial_solenoids(5.0, 0.05, 0.03, 2.0, 0.06, 0.02, gaps[3]), rel=1e-12
    )
    assert np.all(np.diff(together, axis=1) < 0.0)


def test_which_comes_first_does_not_matter():
    forth = coaxial_solenoids(5.0, 0.05, 0.03, 9.0, 0.06, 0.02, 0.01)
    assert forth == pytest.approx(coaxial_solenoids(9.0, 0.06, 0.02, 5.0, 0.05, 0.03, 0.01), rel=1e-12)
