"""Surface temperatures. Derived: correlations and balances written out by hand."""

import numpy as np
import pytest

from netsim.verdict.heat import (
    BRIGHT,
    TARNISHED,
    ZERO_CELSIUS,
    HeatedSolenoid,
    cylinder_heat,
    surface_temperature,
)

SOLENOID = HeatedSolenoid(conductor_diameter=0.006, wire_length=1.0, outer_diameter=0.056, length=0.07)
AIR = 40 + ZERO_CELSIUS


def test_radiation_alone_is_what_emissivity_adds():
    dull, dark = (cylinder_heat(0.006, 1.0, 400.0, AIR, e, coolest=True) for e in (0.0, 1.0))
    area = np.pi * 0.006 * 1.0
    # Stefan-Boltzmann constant: CODATA.
    assert dark - dull == pytest.approx(5.670374e-8 * area * (400**4 - AIR**4), rel=1e-5)


def test_convection_against_morgan_by_hand():
    """Published, from memory: V. T. Morgan (1975), Nu = 0.850 Ra^0.188 for Ra of 1e2 to 1e4.

    Air at 356.6 K, from memory of heat-transfer tables: k = 0.0304 W/mK, nu = 21.6e-6 m2/s, Pr = 0.70.
    """
    surface, diameter = 400.0, 0.006
    film = (surface + AIR) / 2
    rayleigh = 9.81 / film * (surface - AIR) * diameter**3 / 21.6e-6**2 * 0.70
    assert 1e2 < rayleigh < 1e4
    nusselt = 0.850 * rayleigh**0.188
    by_hand = nusselt * 0.0304 / diameter * np.pi * diameter * (surface - AIR)
    most = cylinder_heat(diameter, 1.0, surface, AIR, 0.0, coolest=True)
    least = cylinder_heat(diameter, 1.0, surface, AIR, 0.0, coolest=False)
    # The correlations scatter by a fifth around it, and it lies among them.
    assert least * 0.97 < by_hand < most * 1.03
    assert most < 1.3 * least


@pytest.mark.parametrize("loss", [1.0, 10.0, 100.0])
def test_the_heat_shed_at_the_bounds_is_the_loss(loss):
    found = surface_temperature(loss, SOLENOID)
    low = cylinder_heat(0.006, 1.0, found.low + ZERO_CELSIUS, AIR, TARNISHED, coolest=True)
    high = cylinder_heat(0.056, 0.07, found.high + ZERO_CELSIUS, AIR, BRIGHT, coolest=False)
    assert (low, high) == pytest.approx((loss, loss), rel=1e-3)
    assert (found.middle - 40) ** 2 == pytest.approx((found.low - 40) * (found.high - 40))
    assert 40 < found.low < found.middle < found.high


def test_no_loss_no_rise_and_more_loss_more_rise():
    assert surface_temperature(0.0, SOLENOID, 30.0).high == 30.0
    rises = [surface_temperature(loss, SOLENOID).middle for loss in (1, 3, 10, 30, 100, 1e9)]
    assert rises == sorted(rises)
    assert np.isfinite(rises[-1])
    assert surface_temperature(10.0, SOLENOID, 60.0).low > surface_temperature(10.0, SOLENOID, 40.0).low


@pytest.mark.parametrize("loss", [1e-15, 1e-9, 1e-6, 1e-5])
def test_next_to_no_loss_is_next_to_no_rise(loss):
    """Derived: a microwatt over a hundred square centimetres warms nothing; it must not stop the solver."""
    found = surface_temperature(loss, SOLENOID)
    assert 40.0 <= found.low <= found.middle <= found.high < 40.02
