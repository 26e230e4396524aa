"""Tube and network at their common steady state."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from netsim.circuit.tube.operating_state import at_plate_load
from netsim.circuit.tube.triode import Tube
from netsim.errors import BalanceError
from netsim.solvers.balance_equations import Equations
from netsim.solvers.harmonic_balance import ORDERS, TOLERANCE, balance

TUBE = Tube("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)


def resonant(*loads: complex) -> np.ndarray:
    impedance = np.zeros((len(loads), ORDERS), dtype=complex)
    impedance[:, 0] = loads
    return impedance


def supply(count, volts=2600.0):
    return np.full(count, volts)


@pytest.mark.parametrize("connection", ["grounded grid", "grounded cathode"])
def test_a_resonant_load_as_integrals_do_it(connection):
    """Derived: with harmonics short-circuited the plate swings as a cosine, which integrals solve alone."""
    tube = replace(TUBE, connection=connection)
    loads = [500.0, 2000.0, 3500.0, 9000.0]
    found = balance(resonant(*loads), tube, supply(4), samples=1024)
    for row, load in enumerate(loads):
        point = at_plate_load(tube, 2600.0, load)
        assert found.plate_current_dc[row] == pytest.approx(point.plate_current_dc, rel=1e-6)
        assert -found.plate_voltage[row, 0] == pytest.approx(point.plate_swing_peak, rel=1e-6)
        assert found.drive_power[row] == pytest.approx(point.drive_power, rel=1e-6)
        assert found.plate_dissipation[row] == pytest.approx(point.plate_dissipation, rel=1e-6)
        assert found.grid_current_dc[row] == pytest.approx(point.grid_current_dc, rel=1e-6)


@settings(max_examples=25)
@given(seed=st.integers(0, 2**31), drive=st.floats(30, 400), bias=st.floats(-80, 0), knee=st.floats(5, 300))
def test_both_sides_of_ohms_law_at_random(seed, drive, bias, knee):
    """Derived: every order of the plate's voltage is minus impedance times current, taken apart afresh."""
    rng = np.random.default_rng(seed)
    size = np.exp(rng.uniform(np.log(1), np.log(2e4), (6, ORDERS))) / np.arange(1, ORDERS + 1) ** 2
    impedance = size * np.exp(1j * rng.uniform(-np.pi / 2, np.pi / 2, size.shape))
    tube = replace(TUBE, drive_voltage_peak=drive, bias_voltage=bias, knee_voltage=knee)
    found = balance(impedance, tube, supply(6))
    angle = 2 * np.pi * np.arange(256) / 256
    turn = np.exp(1j * np.outer(np.arange(1, ORDERS + 1), angle))
    plate = 2600.0 + (found.plate_voltage @ turn).real + drive * np.cos(angle)
    current = tube.plate_current(plate, np.broadcast_to(bias + drive * np.cos(angle), plate.shape))
    orders = 2 * (current @ turn.conj().T) / 256
    error = np.abs(found.plate_voltage + impedance * orders).max(axis=1)
    assert (error < 2 * TOLERANCE * 2600.0).all()
    assert (found.residual <= TOLERANCE).all()


def test_many_at_once_as_one_by_one():
    impedance = resonant(500.0, 3000 + 2000j, 100 - 4000j, 20e3)
    together = balance(impedance, TUBE, supply(4))
    for row in range(4):
        alone = balance(impedance[row : row + 1], TUBE, supply(1))
        np.testing.assert_allclose(together.plate_voltage[row], alone.plate_voltage[0], atol=1e-5)


def test_samples_suffice():
    """Cross-solver: 256 samples against 4096, orders 1 to 5 within 0.01 dB."""
    impedance = resonant(3000.0, 1500 + 1500j)
    impedance[:, 1:] = -300j / np.arange(2, ORDERS + 1)
    coarse, fine = (balance(impedance, TUBE, supply(2), samples=n).plate_current[:, :5] for n in (256, 4096))
    assert np.abs(20 * np.log10(np.abs(coarse / fine))).max() < 0.01


def test_without_convergence_there_is_no_number(monkeypatch):
    monkeypatch.setattr("netsim.solvers.balance_equations._STEPS", 1)
    with pytest.raises(BalanceError, match=r"residual .* of the plate supply in network 1") as caught:
        balance(resonant(3000.0), TUBE, supply(1))
    assert caught.value.status == 3
    assert caught.value.problems[0].code == "balance_not_converged"


def test_nonsense_is_not_converged():
    with pytest.raises(BalanceError), np.errstate(invalid="ignore"):
        balance(resonant(np.nan), TUBE, supply(1))


def test_the_ramp_arrives_where_newton_alone_does_not(monkeypatch):
    """The same solution by the detour: a start so far off that short steps reach it by the ramp alone."""
    impedance, tube = resonant(15e3), replace(TUBE, drive_voltage_peak=400.0, knee_voltage=5.0)
    straight = balance(impedance, tube, supply(1))
    first = Equations.newton
    calls = []

    def lost_at_first(self, unknown, share):
        calls.append(float(share[0]))
        if len(calls) == 1:
            return unknown, np.full(len(unknown), np.inf), 0
        return first(self, unknown, share)

    monkeypatch.setattr(Equations, "newton", lost_at_first)
    detour = balance(impedance, tube, supply(1))
    assert calls[1] < 0.1
    np.testing.assert_allclose(detour.plate_voltage, straight.plate_voltage, atol=1e-4)


def test_too_many_orders_for_the_samples():
    with pytest.raises(ValueError, match="fewer than 16 orders"):
        balance(resonant(1000.0), TUBE, supply(1), samples=32)


def test_an_open_output_is_limited_by_supply_and_drive():
    """Derived: no resistance at all takes power away, so plate current and swing find the end themselves.

    The plate cannot stay below the cathode where the tube still conducts, and cannot rise in the other half
    of the cycle by more than the fundamental allows: the swing grows no further than a few supplies.
    """
    weak, strong = (
        balance(resonant(1e7), replace(TUBE, drive_voltage_peak=drive), supply(1)) for drive in (60.0, 95.0)
    )
    swing = [float(np.abs(found.plate_voltage[0, 0])) for found in (weak, strong)]
    assert 2600.0 < swing[0] < swing[1] < 2600.0 + TUBE.amplification_factor * 95.0
    double = balance(resonant(1e7), replace(TUBE, drive_voltage_peak=60.0), supply(1, 3900.0))
    assert np.abs(double.plate_voltage[0, 0]) > swing[0]
