"""Loads on and inside a circle, filters before them, and how far a termination can change a level."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.reflection import (
    PHASES,
    RADII,
    behind_filter,
    impedance_of,
    loads_within,
    power_spread,
    reflection_of,
    swr_of,
)


def test_loads_fill_the_circle():
    loads = loads_within(3.0)
    assert loads.shape == (PHASES * RADII,) == (576,)
    assert swr_of(loads[-PHASES:]) == pytest.approx(3.0)
    assert np.abs(loads).max() == pytest.approx(0.5)
    assert np.abs(loads).min() == pytest.approx(0.5 / RADII)
    np.testing.assert_array_equal(loads_within(1.0), [0])


def test_ends_of_the_circle_by_hand():
    """Derived: SWR 3 on 50 ohm runs from 50 / 3 to 150 ohm on the real axis."""
    loads = loads_within(3.0)[-PHASES:]
    impedance = impedance_of(loads, 50.0)
    assert impedance[0] == pytest.approx(150.0)
    assert impedance[PHASES // 2] == pytest.approx(50 / 3)
    np.testing.assert_allclose(reflection_of(impedance, 50.0), loads, atol=1e-14)


def test_reflection_of_known_impedances():
    """Derived: 0 at the reference, -1 at a short, 1/3 at twice the reference."""
    found = reflection_of(np.array([50, 0, 100, 50j]), 50.0)
    assert found == pytest.approx(np.array([0, -1, 1 / 3, 1j]))


def random_filter(draw_seed, ports=2):
    """Passive and reciprocal: a random symmetric matrix scaled below 1."""
    rng = np.random.default_rng(draw_seed)
    matrix = rng.normal(size=(3, 4, ports, ports)) + 1j * rng.normal(size=(3, 4, ports, ports))
    matrix = matrix + np.swapaxes(matrix, -1, -2)
    return 0.95 * matrix / np.linalg.norm(matrix, 2, axis=(-2, -1))[..., np.newaxis, np.newaxis]


@given(seed=st.integers(0, 2**31), reference=st.sampled_from([25.0, 50.0, 75.0]))
def test_a_filter_before_an_antenna_as_scikit_rf_does_it(seed, reference):
    """Cross-solver: input impedance and delivered power from scikit-rf's chain matrices."""
    import skrf

    scattering = random_filter(seed)
    rng = np.random.default_rng(seed + 1)
    antenna = rng.uniform(5, 300, (3, 4)) + 1j * rng.uniform(-200, 200, (3, 4))
    found = behind_filter(scattering, reference, antenna, np.full(3, 50.0))
    a, b, c, d = (
        skrf.network.s2a(scattering.reshape(-1, 2, 2), reference).reshape(3, 4, 2, 2)[..., i, j]
        for i in (0, 1)
        for j in (0, 1)
    )
    np.testing.assert_allclose(found.impedance, (a * antenna + b) / (c * antenna + d), rtol=1e-7)
    passed = 1 / (c * antenna + d)
    np.testing.assert_allclose(found.delivered, np.abs(passed) ** 2 * antenna.real, rtol=1e-7)
    assert (found.delivered <= found.impedance.real * (1 + 1e-9)).all()


def test_no_filter_at_all_is_a_wire():
    wire = np.broadcast_to(np.array([[0, 1], [1, 0]], dtype=complex), (1, 2, 2, 2))
    found = behind_filter(wire, 50.0, np.array([[20 + 30j, 70 - 5j]]), np.full(1, 50.0))
    np.testing.assert_allclose(found.impedance, [[20 + 30j, 70 - 5j]])
    np.testing.assert_allclose(found.delivered, [[20, 70]])


@given(size=st.floats(0, 0.999), swr=st.floats(1, 30), radius=st.floats(0, 1), angle=st.floats(0, 2 * np.pi))
def test_every_termination_lies_within_the_spread(size, swr, radius, angle):
    """Derived: power into G from a source of reflection S goes as (1 - |G|^2) / |1 - G S|^2."""
    lowest, highest = power_spread(np.array(size), swr)
    termination = radius * (swr - 1) / (swr + 1) * np.exp(1j * angle)
    here = 10 * np.log10((1 - abs(termination) ** 2) / abs(1 - termination * size) ** 2)
    assert lowest - 1e-9 <= here <= highest + 1e-9


@pytest.mark.parametrize("size", [0.0, 0.3, 0.99])
def test_the_spread_is_reached(size):
    """Derived: the extremes lie on the real axis, here scanned."""
    outer = 9 / 11
    line = np.linspace(-outer, outer, 200001)
    scanned = 10 * np.log10((1 - line**2) / (1 - line * size) ** 2)
    assert power_spread(np.array(size), 10.0) == pytest.approx((scanned.min(), scanned.max()), abs=1e-6)


def test_behind_a_filter_that_was_not_measured_stands_the_resistance_of_higher_orders():
    """Derived: known orders as ever; at the others a stand-in for the network, and nothing known to be delivered."""
    scattering = np.full((1, 2, 2, 2), np.nan, dtype=complex)
    scattering[0, 0] = [[0, 1], [1, 0]]
    found = behind_filter(scattering, 50.0, np.array([[20 + 30j, 70 - 5j]]), np.array([75.0]))
    np.testing.assert_allclose(found.impedance, [[20 + 30j, 75]])
    np.testing.assert_array_equal(found.unknown, [[False, True]])
    assert found.delivered[0, 0] == pytest.approx(20)
