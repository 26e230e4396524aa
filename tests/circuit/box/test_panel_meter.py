"""Panel meters: Ohm's and Kirchhoff's laws, worked by hand."""

import math

import pytest

from netsim.circuit.box.panel_meter import PanelMeter


def meter(**changed):
    values = {
        "reads": "plate current",
        "movement": 1e-3,
        "movement_resistance": 100.0,
        "full_scale": 1.0,
        "fitted": None,
        "voltage_rating": None,
        "antenna_resistance": 50.0,
    }
    return PanelMeter(**{**values, **changed})


def test_a_shunt_carries_what_the_movement_does_not():
    # Derived: 0.1 V across 0.999 A.
    shunt = meter()
    assert shunt.resistance == pytest.approx(0.1 / 0.999, rel=1e-12)
    assert shunt.power == pytest.approx(0.1 * 0.999, rel=1e-12)
    assert shunt.in_series(3e3) == 1


def test_a_shunt_that_is_a_little_large_shows_too_much():
    # Derived: 0.1 ohm and 100 ohm divide 1 A so that the movement has 1 mA / 1.001 x ... ; solve Kirchhoff plainly.
    fitted = meter(fitted=0.11)
    movement = 1.0 * 0.11 / (0.11 + 100.0)
    assert fitted.movement_current(1.0) == pytest.approx(movement, rel=1e-12)
    shown = movement / 1e-3 * 1.0
    assert fitted.fitted_error == pytest.approx(shown / 1.0 - 1, rel=1e-9)
    assert fitted.shown(0.5) == pytest.approx(shown / 2, rel=1e-9)


def test_a_multiplier_in_resistors_of_half_their_rating():
    # Derived: 5 kV at 1 mA are 5 Mohm less the movement; 250 V a piece of resistors rated 500 V are 20.
    volts = meter(reads="plate voltage", full_scale=5e3, voltage_rating=500.0)
    assert volts.resistance == pytest.approx(5e6 - 100.0, rel=1e-12)
    assert volts.power == pytest.approx(1e-6 * (5e6 - 100.0), rel=1e-12)
    assert volts.in_series(3e3) == 20
    assert volts.in_series(6e3) == 24
    assert meter(reads="plate voltage", full_scale=5e3).in_series(3e3) is None


def test_a_multiplier_fitted_that_is_a_tenth_too_small():
    volts = meter(reads="plate voltage", full_scale=5e3, fitted=4.5e6)
    current = 3e3 / (4.5e6 + 100.0)
    assert volts.shown(3e3) == pytest.approx(current / 1e-3 * 5e3, rel=1e-12)
    assert volts.movement_current(100.0) == 0.0


def test_output_is_read_by_the_peak_of_its_voltage():
    # Derived: 1 kW in 50 ohm is 316.2 V peak.
    output = meter(reads="output", full_scale=1e3)
    assert output.resistance == pytest.approx(math.sqrt(2 * 1e3 * 50) / 1e-3 - 100, rel=1e-12)
    wrong = meter(reads="output", full_scale=1e3, fitted=output.resistance / 2)
    ratio = (output.resistance + 100) / (output.resistance / 2 + 100)
    assert wrong.fitted_error == pytest.approx(ratio**2 - 1, rel=1e-9)


def test_without_a_shunt_the_movement_takes_all_of_an_arc():
    assert meter(full_scale=1e-3).movement_current(100.0) == 100.0
    assert math.isinf(meter(full_scale=1e-3).resistance)
    assert meter(full_scale=1e-3).preferred == {}


def test_a_movement_that_ends_before_the_scale_has_no_multiplier():
    assert math.isnan(meter(reads="plate voltage", full_scale=100.0, movement_resistance=1e6).resistance)
