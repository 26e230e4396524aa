"""The tube on a resonant network: integrals, bias and drive, idle current."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import gamma

from netsim.circuit.tube.operating_state import at_swing, bias_and_drive_for, bias_for, idle_current
from netsim.circuit.tube.triode import TubeConstants

TUBE = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)
# No knee to speak of and a plate that hardly matters: the pulse is a pure power of a clipped cosine.
IDEAL = TubeConstants("grounded cathode", 1, 1e9, 1e-3, 1e-3, None, 0.0, 100.0)


def test_pulse_of_180_degrees():
    """Derived: mean of cos^1.5 is G(1.25) / (2 sqrt(pi) G(1.75)) = 0.278213, first order 2 x the mean of cos^2.5."""
    point = at_swing(IDEAL, 2000.0, 0.0)
    mean = gamma(1.25) / (2 * np.sqrt(np.pi) * gamma(1.75))
    first = 2 * gamma(1.75) / (2 * np.sqrt(np.pi) * gamma(2.25))
    assert point.conduction_angle == pytest.approx(np.pi, rel=1e-6)
    assert point.plate_current_dc == pytest.approx(mean, rel=1e-5)
    assert point.fundamental_current_peak == pytest.approx(first, rel=1e-5)


@pytest.mark.parametrize("swing", [1500.0, 2400.0, 2640.0])
def test_currents_by_quadrature(swing):
    """Cross-solver: scipy's quadrature of the law written out anew, plate swing in phase with the drive."""

    def plate(x):
        return 2600.0 - (swing - 95.0) * np.cos(x)

    def currents(x):
        v, g = plate(x), -6.0 + 95.0 * np.cos(x)
        cathode = 2 * 1.1e-3 * max(g + v / 110, 0.0) ** 1.5
        knee = np.tanh(max(v, 0.0) / 90)
        if g <= 0:
            return cathode * knee, 0.0
        taken = cathode * knee / (1 + (3e-4 / 8e-4) * np.sqrt(g / max(v, 1e-3)))
        return taken, cathode - taken

    def mean(of):
        turns = [0.0, 0.5, np.arccos(6 / 95), 2.0, np.pi]
        parts = (quad(of, a, b, epsabs=1e-10)[0] for a, b in pairwise(turns))
        return sum(parts) / np.pi

    point = at_swing(TUBE, 2600.0, swing)
    assert point.plate_current_dc == pytest.approx(mean(lambda x: currents(x)[0]), rel=1e-5)
    assert point.grid_current_dc == pytest.approx(mean(lambda x: currents(x)[1]), rel=1e-4)
    first = 2 * mean(lambda x: currents(x)[0] * np.cos(x))
    assert point.fundamental_current_peak == pytest.approx(first, rel=1e-5)
    heat = mean(lambda x: currents(x)[0] * plate(x)), mean(lambda x: currents(x)[1] * (95 * np.cos(x) - 6))
    assert point.plate_dissipation == pytest.approx(heat[0], rel=1e-5)
    assert point.grid_dissipation == pytest.approx(heat[1], rel=1e-4)


@given(swing=st.floats(0, 3000), bias=st.floats(-80, 0), drive=st.floats(20, 200), count=st.integers(1, 4))
def test_energy_balance(swing, bias, drive, count):
    """Derived: supply + drive + bias = plate power + what plate and grid turn to heat."""
    tube = replace(TUBE, bias_voltage=bias, drive_voltage_peak=drive, count=count)
    for each in (tube, replace(tube, connection="grounded cathode")):
        point = at_swing(each, 2600.0, swing)
        given_ = 2600.0 * point.plate_current_dc + point.drive_power + bias * point.grid_current_dc
        taken = point.plate_power + point.plate_dissipation + point.grid_dissipation
        assert taken == pytest.approx(given_, rel=1e-9, abs=1e-9)


def test_more_swing_gives_the_grid_more():
    """Derived: the current the plate loses near the knee is the grid's; today's diode law gave it nothing."""
    far, near, below = (at_swing(TUBE, 2600.0, swing) for swing in (1600.0, 2500.0, 2900.0))
    assert far.grid_current_dc < near.grid_current_dc < below.grid_current_dc
    assert below.grid_current_dc > 3 * far.grid_current_dc
    assert below.grid_dissipation > 3 * far.grid_dissipation


def test_an_unknown_grid_stays_unknown():
    for connection, through in (("grounded grid", True), ("grounded cathode", False)):
        point = at_swing(replace(TUBE, grid_perveance=None, connection=connection), 2600.0, 2200.0)
        assert point.grid_current_dc is None
        assert point.grid_dissipation is None
        if through:
            assert point.drive_power == pytest.approx(95.0 * point.fundamental_current_peak / 2)
        else:
            assert point.drive_power is None


tubes = st.sampled_from(
    [
        TUBE,
        replace(TUBE, grid_perveance=None),
        replace(TUBE, grid_perveance=6e-4, connection="grounded cathode"),
        replace(TUBE, screen_voltage=350.0, screen_amplification_factor=6.0),
    ]
)


@settings(max_examples=60)
@given(current=st.floats(0.05, 1.2), angle=st.floats(100, 300), least=st.floats(150, 800), tube=tubes)
def test_bias_and_drive_give_current_and_angle(current, angle, least, tube):
    """Derived: put back into the law, they give what was asked for."""
    found = bias_and_drive_for(tube, 2600.0, least, current, np.radians(angle))
    point = at_swing(found, 2600.0, 2600.0 - least + found.series_drive)
    assert point.plate_current_dc == pytest.approx(current, rel=1e-9)
    assert np.degrees(point.conduction_angle) == pytest.approx(angle, abs=1e-6)


def test_bias_gives_current():
    found = bias_for(TUBE, 2600.0, 380.0, 0.52)
    swing = 2600.0 - 380.0 + found.series_drive
    assert at_swing(found, 2600.0, swing).plate_current_dc == pytest.approx(0.52, rel=1e-9)


def test_rows_are_solved_side_by_side():
    """Derived: several operating points at once are what each gives alone; one without a solution costs no other."""
    volts, currents = np.array([2600.0, 1900.0, 2600.0]), np.array([0.52, 0.35, 900.0])
    both = bias_and_drive_for(TUBE, volts, 300.0, currents, np.radians([195.0, 220.0, 195.0]))
    lone = bias_for(TUBE, volts, 300.0, currents)
    for row in range(2):
        alone = bias_and_drive_for(TUBE, volts[row], 300.0, currents[row], np.radians([195.0, 220.0][row]))
        assert both.bias_voltage[row] == pytest.approx(alone.bias_voltage[0], rel=1e-12)
        assert both.drive_voltage_peak[row] == pytest.approx(alone.drive_voltage_peak[0], rel=1e-12)
        by_bias = bias_for(TUBE, volts[row], 300.0, currents[row]).bias_voltage[0]
        assert lone.bias_voltage[row] == pytest.approx(by_bias, rel=1e-12)
    assert np.isnan(lone.bias_voltage[2])
    points = at_swing(both.take(np.array([0, 1])), volts[:2], volts[:2] - 300.0 + both.series_drive[:2])
    np.testing.assert_allclose(points.plate_current_dc, currents[:2], rtol=1e-9)


def test_more_drive_than_there_can_be():
    found = bias_and_drive_for(replace(TUBE, perveance=1e-7, grid_perveance=0.0), 2600.0, 380.0, 0.5, np.pi)
    assert np.isnan(found.drive_voltage_peak)
    assert np.isnan(found.bias_voltage)


def test_idle_current_by_hand():
    """Derived: 2 x 0.0011 (-6 + 2600 / 110)^1.5 = 162.94 mA, the knee far below."""
    assert idle_current(TUBE, 2600.0) == pytest.approx([0.162943], rel=1e-5)


def test_feed_through():
    """Derived: in grounded grid E I_1 / 2 passes to the plate circuit; in grounded cathode nothing."""
    point = at_swing(TUBE, 2600.0, 2300.0)
    assert point.feed_through_power == pytest.approx(95.0 * point.fundamental_current_peak / 2)
    assert at_swing(replace(TUBE, connection="grounded cathode"), 2600.0, 2300.0).feed_through_power == 0
