"""The tube's law: space charge, the division between grid and plate, the knee, the screen."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import quad

from netsim.circuit.tube.triode import TubeConstants

TUBE = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)
# One tube with next to no knee: the division by Tank's law alone, d = 1 / 0.2 - 1 = 4.
DIVIDED = TubeConstants("grounded cathode", 1, 100.0, 1e-3, 1e-2, 2e-4, 0.0, 0.0)
UNKNOWN = replace(TUBE, grid_perveance=None)
SCREEN = replace(DIVIDED, amplification_factor=200.0, screen_voltage=300.0, screen_amplification_factor=6.0)

volts = st.floats(-800, 6e3).filter(lambda v: abs(v) > 0.01)
grids = st.floats(-80, 160).filter(lambda v: abs(v) > 1e-3)


def at(value):
    return np.array([value], dtype=float)


def test_the_law_by_hand():
    """Derived: 0.001 (10 + 2000/100)^1.5 tanh(2000/100) = 0.001 x 30^1.5 = 0.164317 A."""
    tube = replace(DIVIDED, grid_perveance=None, knee_voltage=100.0)
    assert tube.plate_current(at(2000), at(10)) == pytest.approx(0.164317, rel=1e-5)


def test_the_power_is_that_of_space_charge():
    """Derived: Child and Langmuir by Poisson's equation, which the plane diode's gap d is integrated from.

    ``V'^2 / 2 = (J / eps) integral dV / sqrt(2 e V / m)`` from a cathode without field gives
    ``d = integral dV / sqrt(4 J sqrt(V) / (eps sqrt(2 e / m)))``; of one gap the current of V follows by
    ``J = (d at 1 A/m2 / d)^2``.
    """
    speed = constants.epsilon_0 * np.sqrt(2 * constants.e / constants.m_e)

    def gap(voltage):
        # V = s^2 takes the singular start away.
        return quad(lambda s: 2 * s / np.sqrt(4 * s / speed), 0, np.sqrt(voltage))[0]

    ratio = (gap(90.0) / gap(20.0)) ** 2
    diode = replace(DIVIDED, amplification_factor=1e9, grid_perveance=None)
    high, low = (float(diode.plate_current(at(500), at(v))[0]) for v in (90.0, 20.0))
    assert high / low == pytest.approx(ratio, rel=1e-6)
    # From memory: 2.334e-6 A/V^1.5 for a gap as wide as the square root of the area.
    assert gap(1.0) ** 2 == pytest.approx(2.334e-6, rel=1e-3)


def test_a_published_triode():
    """From memory: RCA Receiving Tube Manual, class A1 data of the octal triode of amplification factor 20.

    250 V and -8 V: 9 mA and 2600 umho; 90 V and 0 V: 10 mA and 3000 umho. Both stand 4.5 V above cutoff, so
    the law gives both the same current; real ones miss it by 5 %, and their slope is 10 to 13 % lower.
    """
    tube = TubeConstants("grounded cathode", 1, 20.0, 9.5e-3 / 4.5**1.5, 5.0, None, 0.0, 0.0)
    for plate, grid, current, slope in ((250, -8, 9e-3, 2.6e-3), (90, 0, 10e-3, 3.0e-3)):
        found, per_plate_volt = tube.plate_current_and_slope(at(plate), at(grid))
        assert found == pytest.approx(current, rel=0.06)
        assert 20 * per_plate_volt == pytest.approx(slope, rel=0.25)


def test_the_knee_by_hand():
    """Derived: at the knee voltage the plate takes tanh 1 = 0.76159 of the space current."""
    far, near = (replace(UNKNOWN, knee_voltage=v).plate_current(at(90), at(40)) for v in (0.1, 90.0))
    assert near / far == pytest.approx(0.7615942, rel=1e-6)


def test_division_by_hand():
    """Derived: 50 V at the grid, 200 V at the plate; 0.001 x 52^1.5 = 0.374977 A divide as 4 sqrt(200/50) = 8 to 1."""
    assert DIVIDED.plate_current(at(200), at(50)) == pytest.approx(0.374977 * 8 / 9, rel=1e-5)
    assert DIVIDED.grid_current(at(200), at(50)) == pytest.approx(0.374977 / 9, rel=1e-5)


def test_grid_perveance_is_the_grids_where_both_stand_alike():
    """Derived: at 60 V on both the grid takes 2e-4 and the plate 8e-4 of 1e-3 A/V^1.5, times (60 x 1.01)^1.5."""
    lift = (60 * 1.01) ** 1.5
    assert DIVIDED.grid_current(at(60), at(60)) == pytest.approx(2e-4 * lift, rel=1e-9)
    assert DIVIDED.plate_current(at(60), at(60)) == pytest.approx(8e-4 * lift, rel=1e-9)


@given(plate=volts, grid=grids, count=st.integers(1, 4))
def test_plate_and_grid_sum_to_the_cathodes(plate, grid, count):
    """Derived, Kirchhoff: what space charge lets out arrives; a negative grid takes nothing."""
    tube = replace(TUBE, count=count)
    plate_current, grid_current = (
        tube.plate_current(at(plate), at(grid)),
        tube.grid_current(at(plate), at(grid)),
    )
    cathode = count * 1.1e-3 * max(grid + plate / 110, 0) ** 1.5
    assert plate_current >= 0
    assert grid_current >= 0
    if grid > 0:
        assert plate_current + grid_current == pytest.approx(cathode, rel=1e-12)
    else:
        assert grid_current == 0
        assert plate_current == pytest.approx(cathode * np.tanh(max(plate, 0) / 90), rel=1e-12)


def test_a_negative_grid_takes_nothing_even_near_the_knee():
    """Derived: 60 V at the plate and -0.3 V at the grid stand 0.245 V above cutoff; the plate takes part of it."""
    assert 0 < TUBE.plate_current(at(60), at(-0.3)) < 2 * 1.1e-3 * 0.2455**1.5
    assert TUBE.grid_current(at(60), at(-0.3)) == 0


def test_a_plate_that_swings_low_leaves_its_current_to_the_grid():
    """Derived: below the cathode the plate takes nothing and the grid everything; far above, a few per cent."""
    plate = np.array([3000.0, 300.0, 90.0, 20.0, -300.0])
    grid = np.full(5, 80.0)
    share = TUBE.grid_current(plate, grid) / (
        TUBE.plate_current(plate, grid) + TUBE.grid_current(plate, grid)
    )
    assert (np.diff(share) > 0).all()
    assert share[0] < 0.07
    assert share[-1] == 1


@pytest.mark.parametrize(("plate", "grid"), [(2000.0, -18.2), (-100.0, 50.0), (0.0, 50.0)])
def test_no_current_below_cutoff_or_with_the_plate_below_the_cathode(plate, grid):
    assert TUBE.plate_current(at(plate), at(grid)) == 0


@given(plate=volts, grid=grids, tube=st.sampled_from([TUBE, UNKNOWN, DIVIDED, SCREEN]))
def test_slope_is_the_derivative_and_never_negative(plate, grid, tube):
    """Derived: central difference. A negative slope would let a balance have several solutions."""
    step = 1e-4
    current, slope = tube.plate_current_and_slope(at(plate), at(grid))
    above, below = (tube.plate_current(at(plate + s), at(grid)) for s in (step, -step))
    assert current == pytest.approx(float(tube.plate_current(at(plate), at(grid))[0]), rel=1e-12)
    assert slope == pytest.approx(float((above - below)[0] / (2 * step)), rel=3e-3, abs=3e-7)
    assert slope >= 0


def test_an_unknown_grid_has_no_current():
    assert UNKNOWN.grid_current(at(200), at(50)) is None
    assert UNKNOWN.plate_current(at(5000), at(50)) > TUBE.plate_current(at(5000), at(50))


def test_a_screen_lifts_as_its_factor_says():
    """Derived: 300 V / 6 = 50 V; 1000 V / 200 = 5 V; 0.001 (-20 + 50 + 5)^1.5 = 0.207063 A, all to the plate."""
    assert SCREEN.plate_current(at(1000), at(-20)) == pytest.approx(0.207063, rel=1e-5)
    assert SCREEN.grid_current(at(1000), at(-20)) == 0


def test_a_grid_before_a_screen_does_not_know_the_plate():
    """Derived: 12 V of grid against 300 V of screen, d = 4: the grid takes 1 / (1 + 4 x 5) of the current.

    The plate takes the rest with no knee, and leaves it to the screen where it stands below the cathode.
    """
    for plate in (1000.0, 50.0):
        whole = 1e-3 * (12 + 50 + plate / 200) ** 1.5
        assert SCREEN.grid_current(at(plate), at(12)) == pytest.approx(whole / 21, rel=1e-9)
        assert SCREEN.plate_current(at(plate), at(12)) == pytest.approx(whole * 20 / 21, rel=1e-9)
    assert SCREEN.plate_current(at(-50), at(12)) == 0
    assert SCREEN.grid_current(at(-50), at(12)) == pytest.approx(1e-3 * 61.75**1.5 / 21, rel=1e-9)


def test_constants_of_many_networks_stand_in_rows():
    """Derived: each row is what its own constants give alone."""
    many = replace(TUBE, perveance=np.array([1e-3, 2e-3]), knee_voltage=np.array([50.0, 150.0]))
    plate, grid = np.array([[100.0, 500.0, 2000.0]] * 2), np.array([[40.0, 10.0, -5.0]] * 2)
    together = many.column.plate_current(plate, grid)
    for row in range(2):
        alone = replace(TUBE, perveance=(1e-3, 2e-3)[row], knee_voltage=(50.0, 150.0)[row])
        np.testing.assert_allclose(together[row], alone.plate_current(plate[row], grid[row]), rtol=1e-14)
        np.testing.assert_array_equal(many.take(np.array([row])).perveance, [(1e-3, 2e-3)[row]])
        assert many.take(np.array([row])).amplification_factor == 110.0


def test_stacked_tubes_keep_their_constants():
    other = replace(TUBE, bias_voltage=-20.0, drive_voltage_peak=60.0)
    both = TubeConstants.stack([TUBE, other])
    np.testing.assert_array_equal(both.bias_voltage, [-6.0, -20.0])
    np.testing.assert_array_equal(both.drive_voltage_peak, [95.0, 60.0])
    assert both.screen_voltage is None
    with pytest.raises(ValueError, match="one connection"):
        TubeConstants.stack([TUBE, replace(TUBE, count=1)])


def test_it_opens_at_the_crest():
    """Derived: -6 + 95 + (2600 + 95) / 110 = 113.5 V in grounded grid; with 60 V from a screen 173.5 V."""
    assert TUBE.opens_at(2600.0) == pytest.approx(113.5)
    screened = replace(TUBE, screen_voltage=360.0, screen_amplification_factor=6.0)
    assert screened.opens_at(2600.0) == pytest.approx(173.5)
