"""Between measured points: an antenna behind a line by transmission line theory, bounds, phase steps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.reflection import reflection_of, swr_of
from netsim.circuit.scattering import between, delay, is_within, neighbours, phase_steps

LIGHT = 299_792_458.0


def antenna_behind_line(frequency, length, velocity=0.66, resistance=65.0, q=6.0, resonance=7.1e6):
    """Reflection of a series R L C behind a lossless 50 ohm line: theory, Gamma exp(-2 j beta l)."""
    impedance = resistance * (1 + 1j * q * (frequency / resonance - resonance / frequency))
    turn = 4 * np.pi * frequency * length / (velocity * LIGHT)
    return reflection_of(impedance, 50.0) * np.exp(-1j * turn)


def one_port(values):
    return np.asarray(values, dtype=complex)[:, np.newaxis, np.newaxis]


def straight(frequency, values, wanted):
    return np.interp(wanted, frequency, values.real) + 1j * np.interp(wanted, frequency, values.imag)


@pytest.mark.parametrize("length", [20.0, 25.0, 30.0])
@pytest.mark.parametrize(("step", "tolerance"), [(100e3, 0.005), (200e3, 0.01), (300e3, 0.02), (500e3, 0.05)])
def test_an_antenna_behind_a_line_keeps_its_standing_wave_ratio(length, step, tolerance):
    """Derived: on a lossless line the SWR is the antenna's own, wherever it is measured."""
    measured = np.arange(1e6, 31e6, step)
    wanted = np.linspace(5.6e6, 9.1e6, 701)
    true = swr_of(antenna_behind_line(wanted, 0.0))
    assert true.max() > 6.3
    values = antenna_behind_line(measured, length)
    found = swr_of(between(measured, one_port(values), wanted)[:, 0, 0])
    assert np.abs(found / true - 1).max() < tolerance
    if step == 500e3:  # what a straight line makes of it
        assert swr_of(straight(measured, values, wanted))[true > 6].min() < 0.75 * 6.3


@pytest.mark.parametrize("velocity", [0.66, 0.8, 1.0])
def test_the_delay_of_a_line(velocity):
    """Derived: a short behind a line is there and back; 30 m at 500 kHz turn by more than 50 degrees a step."""
    frequency = np.arange(1e6, 31e6, 0.5e6)
    back = 2 * 30.0 / (velocity * LIGHT)
    values = -np.exp(-2j * np.pi * frequency * back)
    assert delay(frequency, values) == pytest.approx(back, rel=1e-9)
    wanted = np.linspace(1e6, 30.5e6, 333)
    found = between(frequency, one_port(values), wanted)[:, 0, 0]
    np.testing.assert_allclose(found, -np.exp(-2j * np.pi * wanted * back), atol=1e-9)


def test_uneven_steps():
    """Derived, as above: points at random places."""
    frequency = np.sort(np.random.default_rng(3).uniform(1e6, 30e6, 120))
    values = 0.8 * np.exp(-2j * np.pi * frequency * 180e-9)
    assert delay(frequency, values) == pytest.approx(180e-9, rel=1e-6)


def test_measured_points_are_met_and_nothing_lies_beyond():
    frequency = np.array([1e6, 2e6, 4e6, 5e6])
    values = one_port([0.1 - 0.2j, 0.3 + 0.4j, -0.5, 0.2j])
    np.testing.assert_allclose(between(frequency, values, frequency), values, atol=1e-12)
    found = between(frequency, values, np.array([[0.9e6, 5.1e6], [2e6, 5e6 * (1 + 1e-12)]]))
    assert np.isnan(found[0]).all()
    assert np.isfinite(found[1]).all()
    np.testing.assert_array_equal(is_within(frequency, np.array([0.9e6, 1e6, 6e6])), [False, True, False])


@pytest.mark.parametrize("points", [1, 2, 3])
def test_few_points(points):
    frequency = np.array([1e6, 2e6, 3e6])[:points]
    values = one_port(np.array([0.5, 0.5j, -0.5])[:points])
    found = between(frequency, values, frequency[:1])
    assert found[0, 0, 0] == pytest.approx(0.5)
    assert (phase_steps(frequency, values, frequency) == 0).all()


@given(seed=st.integers(0, 2**31), ports=st.sampled_from([1, 2]))
def test_what_is_passive_stays_so(seed, ports):
    """Derived: no interpolated matrix is larger than both of its neighbours."""
    rng = np.random.default_rng(seed)
    frequency = np.cumsum(rng.uniform(0.1e6, 1e6, 20))
    values = rng.normal(size=(20, ports, ports)) + 1j * rng.normal(size=(20, ports, ports))
    values = rng.uniform(0.5, 1, (20, 1, 1)) * values / np.linalg.norm(values, 2, axis=(1, 2))[:, None, None]
    wanted = np.linspace(frequency[0], frequency[-1], 500)
    size = np.linalg.norm(between(frequency, values, wanted), 2, axis=(1, 2))
    lower, upper = neighbours(frequency, wanted)
    known = np.linalg.norm(values, 2, axis=(1, 2))
    assert (size <= np.maximum(known[lower], known[upper]) * (1 + 1e-12)).all()


def test_a_two_port_behind_lines():
    """Derived: a matched line as a two-port, its four parameters each with a delay of its own."""
    frequency = np.arange(1e6, 60e6, 0.7e6)
    wanted = np.linspace(1e6, 59e6, 400)

    def line(at):
        found = np.zeros((len(at), 2, 2), complex)
        found[:, 0, 1] = found[:, 1, 0] = 0.95 * np.exp(-2j * np.pi * at * 110e-9)
        found[:, 0, 0] = 0.2 * np.exp(-2j * np.pi * at * 30e-9)
        found[:, 1, 1] = 0.1 * np.exp(-2j * np.pi * at * 190e-9)
        return found

    np.testing.assert_allclose(between(frequency, line(frequency), wanted), line(wanted), atol=1e-9)


def test_phase_steps_count_whole_turns():
    """Derived: 300 ns turn by 360 x 0.3 = 108 degrees a MHz, and 2 MHz apart by 216, which looks like -144."""
    fine, coarse = np.arange(1e6, 10e6, 0.1e6), np.array([10e6, 12e6, 12.1e6])
    frequency = np.concatenate([fine, coarse])
    values = one_port(0.9 * np.exp(-2j * np.pi * frequency * 300e-9))
    found = phase_steps(frequency, values, np.array([3.05e6, 11e6, 5e6]))
    np.testing.assert_allclose(np.degrees(found), [10.8, 216.0, 0.0], atol=1e-6)


def test_phase_of_what_hardly_reflects_is_noise():
    frequency = np.arange(1e6, 5e6, 1e6)
    values = one_port(0.01 * np.array([1, 1j, -1, 1]))
    assert phase_steps(frequency, values, np.array([1.5e6, 2.5e6])).max() == 0
    assert phase_steps(frequency, 30 * values, np.array([1.5e6])).max() > 0


def test_noise_does_not_tell_the_delay():
    """Derived: a filter's pass band has a delay of 80 ns, its longer stop band is the noise of the instrument."""
    rng = np.random.default_rng(5)
    frequency = np.arange(1e6, 100e6, 0.25e6)
    noise = 1e-3 * (rng.normal(size=len(frequency)) + 1j * rng.normal(size=len(frequency)))
    values = np.where(frequency < 32e6, np.exp(-2j * np.pi * frequency * 80e-9), 0) + noise
    assert delay(frequency, values) == pytest.approx(80e-9, rel=1e-3)
