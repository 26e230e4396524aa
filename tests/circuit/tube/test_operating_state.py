"""The tube on a resonant network: integrals, bias and drive."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.tube.operating_state import (
    at_plate_load,
    at_swing,
    bias_and_drive_for,
    bias_for,
    for_plate_power,
)
from netsim.circuit.tube.triode import Tube
from netsim.errors import DescriptionError

TUBE = Tube("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)
# No knee to speak of and a plate that hardly matters: the pulse is a pure power of a clipped cosine.
IDEAL = Tube("grounded cathode", 1, 1e9, 1e-3, 1e-3, 0.0, 0.0, 100.0)


def test_pulse_of_180_degrees():
    """Derived: mean of cos^1.5 is G(1.25) / (2 sqrt(pi) G(1.75)) = 0.278213, first order over mean 1.6.

    With the integral of cos^p over the half circle proportional to G((p+1)/2) / G(p/2 + 1), the ratio is
    2 (1.5 + 1) / (1.5 + 2) x G(1.75)^2 / (G(1.25) G(2.25)) = 1.6449.
    """
    from scipy.special import gamma

    point = at_swing(IDEAL, 2000.0, 0.0)
    mean = gamma(1.25) / (2 * np.sqrt(np.pi) * gamma(1.75))
    first = 2 * gamma(1.75) / (2 * np.sqrt(np.pi) * gamma(2.25))
    assert point.conduction_angle == pytest.approx(np.pi, rel=1e-6)
    assert point.plate_current_dc == pytest.approx(mean, rel=1e-5)
    assert point.fundamental_current_peak == pytest.approx(first, rel=1e-5)


@given(swing=st.floats(0, 3000), bias=st.floats(-80, 0), drive=st.floats(20, 200), count=st.integers(1, 4))
def test_energy_balance(swing, bias, drive, count):
    """Derived: supply + drive + bias = plate power + what plate and grid turn to heat."""
    tube = replace(TUBE, bias_voltage=bias, drive_voltage_peak=drive, count=count)
    for each in (tube, replace(tube, connection="grounded cathode")):
        point = at_swing(each, 2600.0, swing)
        given_ = 2600.0 * point.plate_current_dc + point.drive_power + bias * point.grid_current_dc
        taken = point.plate_power + point.plate_dissipation + point.grid_dissipation
        assert taken == pytest.approx(given_, rel=1e-9, abs=1e-9)


@given(load=st.floats(200, 20e3))
def test_swing_and_current_fit_the_load(load):
    point = at_plate_load(TUBE, 2600.0, load)
    assert point.plate_load == pytest.approx(load, rel=1e-6)


def test_load_for_a_wanted_power_and_back():
    wanted = for_plate_power(TUBE, 2600.0, 800.0)
    assert wanted.plate_power == pytest.approx(800.0, rel=1e-9)
    assert at_plate_load(TUBE, 2600.0, wanted.plate_load).plate_power == pytest.approx(800.0, rel=1e-6)


def test_more_power_than_there_is():
    with pytest.raises(DescriptionError, match="the most is") as caught:
        for_plate_power(TUBE, 2600.0, 5000.0)
    assert caught.value.problems[0].code == "output_out_of_reach"


@given(current=st.floats(0.05, 1.2), angle=st.floats(100, 300), least=st.floats(150, 800))
def test_bias_and_drive_give_current_and_angle(current, angle, least):
    found = bias_and_drive_for(TUBE, 2600.0, least, current, np.radians(angle))
    point = at_swing(found, 2600.0, 2600.0 - least + found.series_drive)
    assert point.plate_current_dc == pytest.approx(current, rel=1e-9)
    assert np.degrees(point.conduction_angle) == pytest.approx(angle, abs=1e-6)


def test_bias_gives_current():
    found = bias_for(TUBE, 2600.0, 380.0, 0.52)
    swing = 2600.0 - 380.0 + found.series_drive
    assert at_swing(found, 2600.0, swing).plate_current_dc == pytest.approx(0.52, rel=1e-9)


def test_no_bias_gives_more_than_the_tube_has():
    with pytest.raises(DescriptionError, match="even without bias") as caught:
        bias_for(TUBE, 2600.0, 380.0, 5.0)
    assert caught.value.problems[0].code == "no_bias_solution"


def test_more_drive_than_there_can_be():
    with pytest.raises(DescriptionError, match="would take a drive") as caught:
        bias_and_drive_for(replace(TUBE, perveance=1e-7), 2600.0, 380.0, 0.5, np.pi)
    assert caught.value.problems[0].code == "no_bias_solution"


def test_input_resistance_and_feed_through():
    """Derived: grounded grid, drive power = E^2 / 2 R; what passes through is E I_1 / 2; cathode: none."""
    point = at_plate_load(TUBE, 2600.0, 2800.0)
    assert point.drive_power == pytest.approx(95.0**2 / 2 / point.input_resistance, rel=1e-9)
    assert point.feed_through_power == pytest.approx(95.0 * point.fundamental_current_peak / 2)
    other = at_plate_load(replace(TUBE, connection="grounded cathode"), 2600.0, 2800.0)
    assert other.feed_through_power == 0
    without = at_plate_load(replace(TUBE, connection="grounded cathode", grid_perveance=0.0), 2600.0, 2800.0)
    assert without.input_resistance == np.inf
