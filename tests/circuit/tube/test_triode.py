"""The tube's law and the constants fitted to curves."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.tube.triode import Tube, fit, plate_law

TUBE = Tube("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)


def test_the_law_by_hand():
    """Derived: 0.001 (10 + 2000/100)^1.5 tanh(2000/100) = 0.001 x 30^1.5 = 0.164317 A."""
    assert plate_law(np.array(2000.0), np.array(10.0), 100.0, 1e-3, 100.0) == pytest.approx(
        0.164317, rel=1e-5
    )


def test_the_knee_by_hand():
    """Derived: at the knee voltage the plate takes tanh 1 = 0.76159 of the space current."""
    far, near = (plate_law(np.array(90.0), np.array(40.0), 110.0, 1e-3, knee) for knee in (0.1, 90.0))
    assert near / far == pytest.approx(0.7615942, rel=1e-6)


@pytest.mark.parametrize(("plate", "grid"), [(2000.0, -18.2), (-100.0, 50.0), (0.0, 50.0)])
def test_no_current_below_cutoff_or_with_the_plate_below_the_cathode(plate, grid):
    assert TUBE.plate_current(np.array(plate), np.array(grid)) == 0


@given(
    plate=st.floats(-500, 6e3).filter(lambda v: abs(v) > 1e-2),
    grid=st.floats(-80, 120),
)
def test_slope_is_the_derivative(plate, grid):
    """Derived: central difference."""
    step = 1e-4
    current, slope = TUBE.plate_current_and_slope(np.array(plate), np.array(grid))
    above, below = (TUBE.plate_current(np.array(plate + s), np.array(grid)) for s in (step, -step))
    assert current == pytest.approx(float(TUBE.plate_current(np.array(plate), np.array(grid))), rel=1e-12)
    assert slope == pytest.approx(float((above - below) / (2 * step)), rel=1e-3, abs=1e-7)


def test_grid_current_by_hand():
    """Derived: two grids at +25 V, 2 x 3e-4 x 125 = 75 mA; none below the cathode's potential."""
    np.testing.assert_allclose(TUBE.grid_current(np.array([25.0, 0.0, -25.0])), [0.075, 0, 0])


@given(
    factor=st.floats(8, 200),
    perveance=st.floats(2e-4, 5e-3),
    knee=st.floats(60, 300),
    noise=st.integers(0, 2**31),
)
def test_constants_come_back_out_of_their_own_curves(factor, perveance, knee, noise):
    plate, grid = (
        axis.ravel()
        for axis in np.meshgrid([60.0, 150.0, 400.0, 1000.0, 2500.0], [-10.0, 0.0, 15.0, 40.0, 80.0])
    )
    current = plate_law(plate, grid, factor, perveance, knee)
    found = fit(plate, grid, current)
    assert (found.amplification_factor, found.perveance, found.knee_voltage) == pytest.approx(
        (factor, perveance, knee), rel=1e-3
    )
    assert found.residual < 1e-4
    rough = current * (1 + 0.03 * np.random.default_rng(noise).uniform(-1, 1, current.shape))
    assert fit(plate, grid, rough).residual < 0.03


def test_the_worst_point_is_named():
    plate, grid = (axis.ravel() for axis in np.meshgrid([200.0, 1000.0, 2500.0], [0.0, 20.0, 50.0]))
    current = plate_law(plate, grid, 100.0, 1e-3, 80.0)
    current[4] *= 1.6
    found = fit(plate, grid, current)
    assert found.worst == 4
    assert found.residual > 0.05
