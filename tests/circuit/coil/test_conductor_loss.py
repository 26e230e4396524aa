import numpy as np
import pytest

from netsim.circuit.coil.conductor_loss import (
    internal_inductance_ratio,
    resistivity,
    skin_depth,
    skin_effect_ratio,
    tube_wall_factor,
    tube_wall_is_thin,
    wire_resistance,
)


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


def test_internal_inductance_fades():
    # Derived: 1 - (r/delta)^4 / 96 when thin, 2 delta / r when thick.
    thin, thick = internal_inductance_ratio(np.array([0.6, 200.0]), 1.0)
    assert thin == pytest.approx(1.0 - 0.3**4 / 96.0, abs=1e-6)
    assert thick == pytest.approx(2.0 / 100.0, rel=1e-3)
    assert internal_inductance_ratio(1e-9, 1.0) == pytest.approx(1.0)


def test_resistance_of_a_metre():
    # Derived: 1 m of 2 mm copper at 7 MHz is a skin of 24.978 um, r / (2 delta) + 1/4 times the DC value.
    dc = 17.241e-9 / (np.pi * 1e-6)
    expected = dc * (1e-3 / (2.0 * 24.978e-6) + 0.25)
    assert wire_resistance(1.0, 0.002, 17.241e-9, 7e6) == pytest.approx(expected, rel=2e-4)


def test_skin_depth_broadcasts():
    assert skin_depth(np.full((2, 1), 2e-8), np.array([1e6, 4e6, 9e6])).shape == (2, 3)


def test_tube_walls():
    # Derived: coth of a plane sheet; thin walls carry evenly (delta / w), thick ones do not matter.
    assert tube_wall_factor(0.01, 1.0) == pytest.approx(100.0, rel=1e-6)
    assert tube_wall_factor(5000.0, 1.0) == pytest.approx(1.0)
    # Derived by hand: (sinh 2 + sin 2) / (cosh 2 - cos 2) = 4.5362 / 4.1783.
    assert tube_wall_factor(1.0, 1.0) == pytest.approx(4.5362 / 4.1783, rel=1e-4)
    assert tube_wall_is_thin(np.array([1.9, 2.1]), 1.0).tolist() == [True, False]
