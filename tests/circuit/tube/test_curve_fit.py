"""Constants fitted to points of curves: honest readings, wrong ones, and nonsense."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from netsim.circuit.tube.curve_fit import DOUBTFUL, NONSENSE, ROUGH, Curves, fit
from netsim.circuit.tube.triode import TubeConstants

PLATE, GRID = (
    axis.ravel() for axis in np.meshgrid([60.0, 150.0, 400.0, 1000.0, 2500.0], [-10.0, 0.0, 15.0, 40.0, 80.0])
)
NOT_READ = np.full(len(PLATE), np.nan)


def tube(factor=110.0, perveance=1.1e-3, knee=90.0, grid_perveance=None, **screen):
    return TubeConstants("grounded cathode", 1, factor, perveance, knee, grid_perveance, 0.0, 0.0, **screen)


def curves(of, plate=PLATE, grid=GRID, **known):
    """Points of a tube's own law; the grid's where it is known."""
    grid_current = of.grid_current(plate, grid)
    read = np.full(len(plate), np.nan) if grid_current is None else grid_current
    return Curves(plate, grid, of.plate_current(plate, grid), read, **known)


def misread(points, seed, share=0.05):
    """Return readings off by up to a share each, evenly."""
    rng = np.random.default_rng(seed)
    off = [1 + share * rng.uniform(-1, 1, len(points.plate)) for _ in range(2)]
    return replace(points, current=points.current * off[0], grid_current=points.grid_current * off[1])


@settings(max_examples=12)
@given(
    factor=st.floats(8, 200),
    perveance=st.floats(2e-4, 5e-3),
    knee=st.floats(60, 300),
    share=st.none() | st.floats(0.02, 0.5),
)
def test_constants_come_back_out_of_their_own_curves(factor, perveance, knee, share):
    """Derived: points computed from the law lead back to it."""
    made = tube(factor, perveance, knee, None if share is None else share * perveance)
    found = fit(curves(made))
    assert (found.amplification_factor, found.perveance, found.knee_voltage) == pytest.approx(
        (factor, perveance, knee), rel=1e-3
    )
    assert found.grid_perveance == (None if share is None else pytest.approx(share * perveance, rel=1e-3))
    assert found.residual < 1e-4
    assert not found.doubtful
    assert not found.undetermined


@settings(max_examples=8)
@given(seed=st.integers(0, 2**31))
def test_readings_five_per_cent_off_are_honest(seed):
    """Derived: the residual is no more than the readings' own, the constants near, nothing is called wrong."""
    found = fit(misread(curves(tube(grid_perveance=2e-4)), seed))
    assert found.residual < ROUGH
    assert found.amplification_factor == pytest.approx(110, rel=0.1)
    assert found.perveance == pytest.approx(1.1e-3, rel=0.05)
    assert found.grid_perveance == pytest.approx(2e-4, rel=0.1)
    assert not found.doubtful
    assert not found.swapped


@pytest.mark.parametrize("factor", [1.45, 0.55])
@pytest.mark.parametrize("index", [13, 14, 18, 20, 24])
def test_a_point_45_per_cent_off_is_named_and_does_not_bend_the_rest(index, factor):
    points = misread(curves(tube()), index)
    wrong = points.current.copy()
    wrong[index] *= factor
    found = fit(replace(points, current=wrong))
    assert found.worst == index
    assert found.worst_of == "plate current"
    assert found.doubtful
    assert abs(found.worst_miss) > DOUBTFUL
    # The miss is the fit's over the reading's: one over the factor, less one, but for the other readings.
    assert found.worst_miss == pytest.approx(1 / factor - 1, abs=0.15 / factor)
    assert found.residual < NONSENSE
    assert found.perveance == pytest.approx(1.1e-3, rel=0.08)


def test_a_wrong_grid_current_is_named():
    points = curves(tube(grid_perveance=2e-4))
    wrong = points.grid_current.copy()
    wrong[18] *= 1.6
    found = fit(replace(points, grid_current=wrong))
    assert (found.worst, found.worst_of, found.doubtful) == (18, "grid current", True)
    assert found.residual < 1e-3 < found.grid_residual


def test_grid_currents_may_be_read_at_some_points_only():
    points = curves(tube(grid_perveance=2e-4))
    some = np.where(np.arange(len(PLATE)) % 5 == 4, points.grid_current, np.nan)
    assert fit(replace(points, grid_current=some)).grid_perveance == pytest.approx(2e-4, rel=1e-3)


def test_a_known_grid_perveance_stays_and_the_cathode_gives_it_as_well():
    """Derived: plate currents of a divided law, fitted with the grid's share known, give the cathode's perveance."""
    points = replace(curves(tube(grid_perveance=2e-4)), grid_current=NOT_READ, grid_perveance=2e-4)
    found = fit(points)
    assert found.grid_perveance == 2e-4
    assert found.perveance == pytest.approx(1.1e-3, rel=1e-4)
    assert found.grid_residual is None


def test_a_screen_shifts_the_curves():
    """Derived: grids down to -50 V and a screen of 350 V / 6; without the screen no law meets these points."""
    screen = {"screen_voltage": 350.0, "screen_amplification_factor": 6.0}
    points = curves(tube(200.0, 2e-3, 60.0, **screen), grid=GRID - 45, **screen)
    found = fit(points)
    assert (found.amplification_factor, found.perveance, found.knee_voltage) == pytest.approx(
        (200, 2e-3, 60), rel=1e-3
    )
    without = fit(replace(points, screen_voltage=None, screen_amplification_factor=None))
    assert without.residual > 3 * ROUGH


def test_exchanged_columns_are_noticed():
    positive = GRID > 0
    points = curves(tube(), PLATE[positive], GRID[positive])
    assert fit(misread(points.swapped(), 1)).swapped
    assert not fit(misread(points, 1)).swapped


def test_nonsense_is_beyond_the_line():
    """Derived: currents that have nothing to do with the voltages miss about as much as one value for all."""
    points = Curves(PLATE, GRID, np.random.default_rng(5).uniform(0, 1, len(PLATE)), NOT_READ)
    assert fit(points).residual > NONSENSE


def test_a_knee_that_no_point_tells_is_said_to_be_a_guess():
    """Common practice: four per cent of the highest plate voltage."""
    high = PLATE > 900
    found = fit(curves(tube(knee=20.0), PLATE[high], GRID[high]))
    assert found.undetermined == ("knee_voltage",)
    assert found.knee_voltage == pytest.approx(0.04 * 2500, rel=0.05)
    assert found.amplification_factor == pytest.approx(110, rel=0.01)


def test_points_at_which_no_current_can_flow():
    with pytest.raises(ValueError, match="no current flows"):
        fit(Curves(np.full(6, 10.0), np.full(6, -500.0), np.ones(6), np.full(6, np.nan)))
