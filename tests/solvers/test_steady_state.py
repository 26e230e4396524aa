"""What is read off a steady state: waves, phasors, drive, and what stays unknown."""

from dataclasses import replace

import numpy as np
import pytest

from netsim.circuit.tube.triode import TubeConstants
from netsim.solvers.harmonic_balance import ORDERS, solve
from netsim.solvers.steady_state import Balance, phasors, wave_of
from tests.solvers.test_harmonic_balance import like_a_network, resonant

TUBE = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)


def test_phasors_by_hand():
    """Derived: 3 cos x - 4 sin x + 2 cos 2x has the peak phasors 3 + 4j and 2."""
    angle = 2 * np.pi * np.arange(64) / 64
    wave = 7 + 3 * np.cos(angle) - 4 * np.sin(angle) + 2 * np.cos(2 * angle)
    found = phasors(wave[np.newaxis], 3)
    np.testing.assert_allclose(found, [[3 + 4j, 2, 0]], atol=1e-12)
    np.testing.assert_allclose(wave_of(found, 64)[0], wave - 7, atol=1e-12)


def test_waves_carry_the_phasors_and_the_powers():
    """Derived: orders, means and heat taken out of the waves again."""
    found = solve(like_a_network(np.random.default_rng(11), 3), TUBE, 2600.0, neglect=0.0)
    waves = found.waves()
    np.testing.assert_allclose(phasors(waves.current, ORDERS), found.plate_current, atol=1e-12)
    np.testing.assert_allclose(phasors(waves.grid_current, ORDERS), found.grid_current, atol=1e-12)
    drive = np.zeros(ORDERS)
    drive[0] = 95.0
    np.testing.assert_allclose(phasors(waves.plate, ORDERS), found.plate_voltage + drive, atol=1e-8)
    np.testing.assert_allclose((waves.plate * waves.current).mean(axis=1), found.plate_dissipation)
    np.testing.assert_allclose((waves.grid * waves.grid_current).mean(axis=1), found.grid_dissipation)
    np.testing.assert_allclose(waves.plate.min(axis=1), found.plate_voltage_minimum)


def test_parts_of_a_balance_join_again():
    tube = replace(TUBE, bias_voltage=np.array([-6.0, -9.0, -3.0]))
    whole = solve(resonant(1500.0, 3000.0, 6000.0), tube, 2600.0)
    parts = [whole.take(np.array([0])), whole.take(slice(1, 3))]
    assert parts[1].tube.bias_voltage == pytest.approx([-9.0, -3.0])
    again = Balance.join(parts, tube)
    for name, values in whole.arrays().items():
        np.testing.assert_array_equal(again.arrays()[name], values, err_msg=name)


def test_input_impedance_by_its_definition():
    """Derived: drive over the fundamental of what it supplies, taken out of the waves afresh."""
    impedance = like_a_network(np.random.default_rng(10), 4)
    turn = np.exp(-2j * np.pi * np.arange(256) / 256)
    for connection in ("grounded grid", "grounded cathode"):
        found = solve(impedance, replace(TUBE, connection=connection), 2600.0, neglect=0.0)
        waves = found.waves()
        supplied = waves.grid_current + (waves.current if connection == "grounded grid" else 0)
        np.testing.assert_allclose(found.input_impedance, 95.0 / (2 * (supplied @ turn) / 256), rtol=1e-9)
        power = 95.0**2 / 2 * (1 / found.input_impedance).real
        np.testing.assert_allclose(found.drive_power, power, rtol=1e-9)
        np.testing.assert_allclose(
            found.cathode_current_dc, (waves.grid_current + waves.current).mean(axis=1)
        )


def test_an_unknown_grid_stays_unknown():
    found = solve(resonant(3000.0), replace(TUBE, grid_perveance=None), 2600.0)
    assert found.grid_current is None
    assert found.grid_current_dc is None
    assert found.grid_dissipation is None
    np.testing.assert_allclose(found.drive_power, found.feed_through_power)
    np.testing.assert_allclose(found.cathode_current_dc, found.plate_current_dc)
    driven = solve(
        resonant(3000.0), replace(TUBE, grid_perveance=None, connection="grounded cathode"), 2600.0
    )
    assert driven.drive_power is None
    assert driven.input_impedance is None
    assert driven.waves().grid_current is None
