"""Tube and network at their common steady state."""

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from netsim.circuit.tube.operating_state import at_swing
from netsim.circuit.tube.triode import TubeConstants
from netsim.errors import BalanceError
from netsim.solvers import harmonic_balance
from netsim.solvers.harmonic_balance import ORDERS, solve
from netsim.solvers.steady_state import TOLERANCE

TUBE = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)
SCREEN = replace(TUBE, screen_voltage=300.0, screen_amplification_factor=6.0, bias_voltage=-60.0)
NAMES = (
    "plate_current_dc",
    "grid_current_dc",
    "plate_dissipation",
    "grid_dissipation",
    "plate_voltage_minimum",
)


def resonant(*loads: complex, orders: int = ORDERS) -> np.ndarray:
    impedance = np.zeros((len(loads), orders), dtype=complex)
    impedance[:, 0] = loads
    return impedance


def at_random(rng, count, orders=ORDERS, low=1.0, high=2e4):
    size = np.exp(rng.uniform(np.log(low), np.log(high), (count, orders))) / np.arange(1, orders + 1) ** 2
    return size * np.exp(1j * rng.uniform(-np.pi / 2, np.pi / 2, size.shape))


def like_a_network(rng, count, orders=ORDERS):
    """Draw a fundamental of any kind, and harmonics that a tune capacitor of 5 to 300 ohm leads away."""
    order = np.arange(1, orders + 1)
    capacitor = np.exp(rng.uniform(np.log(5), np.log(300), (count, 1)))
    impedance = capacitor / order * (rng.uniform(0.01, 0.3, (count, orders)) - 1j)
    size = np.exp(rng.uniform(np.log(200), np.log(2e4), count))
    impedance[:, 0] = size * np.exp(1j * rng.uniform(-1.5, 1.5, count))
    return impedance


@pytest.mark.parametrize("tube", [TUBE, replace(TUBE, connection="grounded cathode"), SCREEN])
def test_a_resonant_load_as_integrals_do_it(tube):
    """Derived: with harmonics short-circuited the plate swings as a cosine, which integrals solve alone."""
    loads = [500.0, 2000.0, 3500.0, 9000.0]
    found = solve(resonant(*loads), tube, 2600.0, samples=1024, neglect=0.0)
    for row, load in enumerate(loads):

        def beyond(swing, load=load):
            return float(load * at_swing(tube, 2600.0, swing).fundamental_current_peak[0] - swing)

        point = at_swing(tube, 2600.0, brentq(beyond, 0.0, 2e4, xtol=1e-9))
        assert -found.plate_voltage[row, 0].real == pytest.approx(point.plate_swing_peak[0], rel=5e-5)
        for name in (
            "plate_current_dc",
            "grid_current_dc",
            "drive_power",
            "plate_dissipation",
            "grid_dissipation",
        ):
            # A grid's current starts with a corner, for which 512 samples there and 1024 here are coarse.
            close = 2e-4 if name.startswith("plate") else 5e-4
            assert getattr(found, name)[row] == pytest.approx(getattr(point, name)[0], rel=close), name


@settings(max_examples=25)
@given(
    seed=st.integers(0, 2**31),
    drive=st.floats(30, 400),
    bias=st.floats(-80, 0),
    knee=st.floats(5, 300),
    share=st.none() | st.floats(0, 0.6),
)
def test_both_sides_of_ohms_law_at_random(seed, drive, bias, knee, share):
    """Derived: every order of the plate's voltage is minus impedance times current, taken apart afresh."""
    impedance = at_random(np.random.default_rng(seed), 6)
    grid = None if share is None else 1.1e-3 * share
    tube = replace(TUBE, drive_voltage_peak=drive, bias_voltage=bias, knee_voltage=knee, grid_perveance=grid)
    found = solve(impedance, tube, 2600.0, neglect=0.0)
    assert found.converged.all()
    angle = 2 * np.pi * np.arange(256) / 256
    turn = np.exp(1j * np.outer(np.arange(1, ORDERS + 1), angle))
    plate = 2600.0 + (found.plate_voltage @ turn).real + drive * np.cos(angle)
    current = tube.plate_current(plate, np.broadcast_to(bias + drive * np.cos(angle), plate.shape))
    orders = 2 * (current @ turn.conj().T) / 256
    error = np.abs(found.plate_voltage + impedance * orders).max(axis=1)
    assert (error < 2 * TOLERANCE * 2600.0).all()
    np.testing.assert_allclose(found.plate_current, orders, atol=1e-9)


@settings(max_examples=25)
@given(
    seed=st.integers(0, 2**31),
    drive=st.floats(40, 200),
    bias=st.floats(-60, 0),
    tube=st.sampled_from([TUBE, replace(TUBE, grid_perveance=None), SCREEN]),
    connection=st.sampled_from(["grounded grid", "grounded cathode"]),
)
def test_power_balance(seed, drive, bias, tube, connection):
    """Derived: DC, drive and bias power in; plate power and heat of plate and grid out, within a thousandth.

    Without the grid's law its share is in none of both; in grounded cathode no drive power is known then.
    """
    impedance = like_a_network(np.random.default_rng(seed), 12)
    moved = tube.bias_voltage + bias
    tube = replace(tube, drive_voltage_peak=drive, bias_voltage=moved, connection=connection)
    found = solve(impedance, tube, 2600.0)
    assert found.converged.all()
    drive_power = found.drive_power if tube.grid_perveance is not None else found.feed_through_power
    sources = (
        found.input_power
        + drive_power
        + (0 if found.grid_current_dc is None else found.tube.bias_voltage * found.grid_current_dc)
    )
    grid_heat = 0 if found.grid_dissipation is None else found.grid_dissipation
    sinks = found.plate_power + found.plate_dissipation + grid_heat
    np.testing.assert_allclose(sinks, sources, rtol=1e-3, atol=1e-6)


@pytest.mark.parametrize("tube", [TUBE, replace(TUBE, drive_voltage_peak=130.0), SCREEN])
def test_what_is_neglected_does_not_count(tube):
    """Cross-solver: ten orders where they suffice, against all 32 at twice the samples."""
    impedance = like_a_network(np.random.default_rng(3), 400)
    quick, whole = solve(impedance, tube, 2600.0), solve(impedance, tube, 2600.0, neglect=0.0)
    assert quick.converged.all()
    short = quick.plate_voltage[:, 20] == 0
    assert 0.3 < short.mean() < 1
    for name in ("plate_power", "plate_current_dc", "plate_dissipation"):
        np.testing.assert_allclose(getattr(quick, name), getattr(whole, name), rtol=1e-3, err_msg=name)
    # A current 30 dB below the fundamental is heard 60 dB down behind the lightest of networks.
    level = 20 * np.log10(np.abs(whole.plate_current[:, :10] / whole.plate_current[:, :1]))
    with np.errstate(divide="ignore"):
        apart = 20 * np.log10(np.abs(quick.plate_current[:, :10] / whole.plate_current[:, :10]))
    assert np.abs(apart[level > -30]).max() < 0.1


def test_ten_orders_alone():
    """Cross-solver: where only ten impedances are known, they are solved, and what is above them is estimated."""
    impedance = like_a_network(np.random.default_rng(4), 100)
    ten, whole = solve(impedance[:, :10], TUBE, 2600.0), solve(impedance, TUBE, 2600.0)
    gentle = ten.neglected < harmonic_balance.NEGLECT
    assert 0.3 < gentle.mean() < 1
    np.testing.assert_allclose(ten.plate_power[gentle], whole.plate_power[gentle], rtol=1e-3)
    assert ten.plate_current.shape == (100, 10)


def test_many_at_once_as_one_by_one():
    """Derived: tubes, supplies and impedances of many networks are each their own, over chunks as well."""
    rng = np.random.default_rng(1)
    count = 600
    impedance = like_a_network(rng, count)
    supply = rng.uniform(1500, 3500, count)
    many = replace(
        TUBE,
        bias_voltage=rng.uniform(-30, 0, count),
        drive_voltage_peak=rng.uniform(50, 130, count),
        grid_perveance=rng.uniform(0, 5e-4, count),
        knee_voltage=rng.uniform(50, 150, count),
    )
    together = solve(impedance, many, supply)
    for row in (0, 255, 256, 599):
        alone = solve(impedance[row : row + 1], many.take(np.array([row])), supply[row])
        np.testing.assert_allclose(together.plate_voltage[row], alone.plate_voltage[0], atol=1e-4)
        for name in NAMES:
            assert getattr(together, name)[row] == pytest.approx(getattr(alone, name)[0], rel=1e-6), name
    np.testing.assert_array_equal(together.take(np.array([5])).tube.bias_voltage, many.bias_voltage[[5]])


def test_the_start_does_not_matter():
    """Derived: the current never falls with the plate's voltage and the network is passive: one solution."""
    impedance = like_a_network(np.random.default_rng(2), 50)
    first = solve(impedance, TUBE, 2600.0, neglect=0.0)
    near = first.plate_voltage * 1.02
    near[7] = np.nan
    again = solve(impedance, TUBE, 2600.0, near, neglect=0.0)
    far = solve(impedance, TUBE, 2600.0, np.roll(first.plate_voltage, 1, axis=0), neglect=0.0)
    for other in (again, far):
        assert other.converged.all()
        np.testing.assert_allclose(other.plate_voltage, first.plate_voltage, atol=1e-4)


def test_samples_suffice():
    """Cross-solver: 256 samples against 4096, orders 1 to 5 within 0.01 dB."""
    impedance = resonant(3000.0, 1500 + 1500j)
    impedance[:, 1:] = -300j / np.arange(2, ORDERS + 1)
    coarse, fine = (
        solve(impedance, TUBE, 2600.0, samples=n, neglect=0.0).plate_current[:, :5] for n in (256, 4096)
    )
    assert np.abs(20 * np.log10(np.abs(coarse / fine))).max() < 0.01


def test_one_network_without_a_solution_costs_no_other():
    impedance = like_a_network(np.random.default_rng(6), 8)
    whole = solve(impedance, TUBE, 2600.0)
    impedance[3, 0], impedance[5, 20], impedance[6, 0] = np.nan, np.inf, 1e300
    found = solve(impedance, TUBE, 2600.0)
    np.testing.assert_array_equal(np.flatnonzero(~found.converged), [3, 5, 6])
    good = found.converged
    np.testing.assert_allclose(found.plate_voltage[good], whole.plate_voltage[good])
    for name in NAMES:
        assert np.isnan(getattr(found, name)[[3, 5, 6]]).all(), name
        assert np.isfinite(getattr(found, name)[good]).all(), name
    assert np.isnan(found.plate_voltage[[3, 5, 6]]).all()
    with pytest.raises(BalanceError, match=r"network [467] of 8"):
        found.require_converged()


def test_without_convergence_there_is_no_number(monkeypatch):
    monkeypatch.setattr(harmonic_balance, "_STEPS", 1)
    found = solve(resonant(3000.0), TUBE, 2600.0)
    assert not found.converged.any()
    assert np.isnan(found.plate_current_dc).all()
    with pytest.raises(BalanceError, match=r"residual .* of the plate supply in network 1") as caught:
        found.require_converged()
    assert caught.value.status == 3
    assert caught.value.problems[0].code == "balance_not_converged"


def test_the_ramp_arrives_where_newton_alone_does_not(monkeypatch):
    """The same solution by the detour, the first Newton run having failed."""
    impedance, tube = resonant(15e3), replace(TUBE, drive_voltage_peak=400.0, knee_voltage=5.0)
    straight = solve(impedance, tube, 2600.0, neglect=0.0)
    newton, runs = harmonic_balance._Problem.newton, []

    def lost(self, unknown):
        runs.append(self.impedance[0, 0].real)
        # All that start at the whole impedance fail; the ramp's last step arrives there from just below.
        if self.impedance.shape[1] == ORDERS and len([z for z in runs if z == 15e3]) == 3:
            return unknown, np.full(len(unknown), np.inf), 0
        return newton(self, unknown)

    monkeypatch.setattr(harmonic_balance._Problem, "newton", lost)
    detour = solve(impedance, tube, 2600.0, neglect=0.0)
    assert min(runs) < 0.1 * 15e3
    np.testing.assert_allclose(detour.plate_voltage, straight.plate_voltage, atol=1e-4)


def test_a_singular_step_costs_no_other(monkeypatch):
    """The same solution where the linear solver refuses the whole stack."""
    impedance = like_a_network(np.random.default_rng(8), 5)
    expected = solve(impedance, TUBE, 2600.0)

    def refused(*arguments):
        raise np.linalg.LinAlgError

    monkeypatch.setattr(np.linalg, "solve", refused)
    found = solve(impedance, TUBE, 2600.0)
    assert found.converged.all()
    np.testing.assert_allclose(found.plate_voltage, expected.plate_voltage, atol=1e-4)


def test_too_many_orders_for_the_samples():
    with pytest.raises(ValueError, match="fewer than 16 orders"):
        solve(resonant(1000.0), TUBE, 2600.0, samples=32)


def test_memory_does_not_grow_with_the_networks():
    """Under 100 MB beside the result itself, at all orders."""
    impedance = like_a_network(np.random.default_rng(9), 2000)
    tracemalloc.start()
    try:
        found = solve(impedance, TUBE, 2600.0, neglect=0.0)
        kept, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert found.converged.all()
    assert most - kept < 100e6


def test_an_open_output_is_limited_by_supply_and_drive():
    """Derived: no resistance at all takes power away, so plate current and swing find the end themselves.

    The plate cannot stay below the cathode where the tube still conducts, and cannot rise in the other half
    of the cycle by more than the fundamental allows: the swing grows no further than a few supplies.
    """
    weak, strong = (
        solve(resonant(1e7), replace(TUBE, drive_voltage_peak=drive), 2600.0) for drive in (60.0, 95.0)
    )
    swing = [float(np.abs(found.plate_voltage[0, 0])) for found in (weak, strong)]
    assert 2600.0 < swing[0] < swing[1] < 2600.0 + TUBE.amplification_factor * 95.0
    double = solve(resonant(1e7), replace(TUBE, drive_voltage_peak=60.0), 3900.0)
    assert np.abs(double.plate_voltage[0, 0]) > swing[0]


def test_light_loading_drives_the_grid():
    """Derived: where the plate swings below the cathode the grid takes what it leaves; diode laws give it nothing."""
    found = solve(resonant(2800.0, 9000.0), TUBE, 2600.0, neglect=0.0)
    assert found.plate_voltage_minimum[1] < 60 < 300 < found.plate_voltage_minimum[0]
    assert found.grid_current_dc[1] > 2 * found.grid_current_dc[0]
    waves = found.waves()
    cathode = waves.current + waves.grid_current
    open_ = waves.grid > 0
    lift = np.maximum(waves.grid + waves.plate / 110, 0)
    np.testing.assert_allclose(cathode[open_], 2 * 1.1e-3 * lift[open_] ** 1.5, rtol=1e-9)
