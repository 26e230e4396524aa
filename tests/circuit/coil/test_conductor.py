import numpy as np
import pytest

from netsim.circuit.coil.conductor import resistivity, skin_depth, skin_effect_ratio, surface_resistance


def test_aluminium_against_copper():
    # Common practice: conductor aluminium has 61 % of the conductivity of copper.
    assert resistivity("copper", 20.0) / resistivity("aluminium", 20.0) == pytest.approx(0.61, abs=1e-4)


def test_thick_wire_conducts_in_its_skin():
    # Derived: r / (2 delta) + 1/4 + 3 delta / (32 r) for r >> delta.
    size = np.array([30.0, 300.0, 3000.0])
    np.testing.assert_allclose(
        skin_effect_ratio(2.0 * size, 1.0), size / 2.0 + 0.25 + 3.0 / (32.0 * size), rtol=1e-5
    )


def test_thin_wire_conducts_throughout():
    # Derived: 1 + (r/delta)^4 / 48 to first order.
    assert skin_effect_ratio(0.2, 1.0) == pytest.approx(1.0 + 0.1**4 / 48.0, rel=1e-9)


def test_resistance_of_a_metre():
    # Derived: 1 m of 2 mm copper at 7 MHz is a skin of 24.978 um, r / (2 delta) + 1/4 times the DC value;
    # the wire's surface is pi d wide.
    dc = 17.241e-9 / (np.pi * 1e-6)
    expected = dc * (1e-3 / (2.0 * 24.978e-6) + 0.25)
    found = surface_resistance(0.002, 17.241e-9, 7e6) / (np.pi * 0.002)
    assert found == pytest.approx(expected, rel=2e-4)


def test_a_wide_surface_is_flat():
    # Derived: rho / delta.
    assert surface_resistance(1.0, 2e-8, 7e6) == pytest.approx(2e-8 / skin_depth(2e-8, 7e6), rel=1e-4)


def test_skin_depth_broadcasts():
    assert skin_depth(np.full((2, 1), 2e-8), np.array([1e6, 4e6, 9e6])).shape == (2, 3)
