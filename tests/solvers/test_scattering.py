"""Scattering parameters of ladders that can be worked out by hand."""

import numpy as np
import pytest

from netsim.circuit.elements import Branch, Capacitor, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.solvers.scattering import scattering

R = 50.0
ANTENNA = Branch("antenna", Resistor(np.array([R])), "plate")


def series(element):
    far = Branch("antenna", Resistor(np.array([R])), "antenna")
    # A tiny shunt keeps the open circuit finite, as the tube's capacitance does in every amplifier.
    shunt = Branch("output_capacitance", Capacitor(np.array([1e-18]), np.zeros(1)), "plate")
    return Ladder(np.array([1e6]), (shunt, Branch("coil", element, "plate", "antenna"), far))


def test_a_shunt_resistor():
    """Derived: y = R/r normalised; S11 = -y / (2 + y), S21 = 2 / (2 + y)."""
    shunt = Branch("load", Resistor(np.array([100.0])), "plate")
    s = scattering(Ladder(np.array([1e6]), (shunt, ANTENNA)), np.ones(1), R)[0, 0]
    y = R / 100.0
    assert s == pytest.approx(np.array([[-y, 2], [2, -y]]) / (2 + y), rel=1e-12)


def test_a_shunt_capacitor_at_several_orders():
    """Derived: as above with y = j n w C r."""
    shunt = Branch("tune_capacitor", Capacitor(np.array([1e-9]), np.zeros(1)), "plate")
    orders = np.array([0.5, 1.0, 3.0])
    s = scattering(Ladder(np.array([1e6]), (shunt, ANTENNA)), orders, R)[0]
    for n, matrix in zip(orders, s, strict=True):
        y = 2j * np.pi * 1e6 * n * 1e-9 * R
        assert matrix == pytest.approx(np.array([[-y, 2], [2, -y]]) / (2 + y), rel=1e-9)


def test_a_series_inductor():
    """Derived: z = j w L / r; S11 = z / (2 + z), S21 = 2 / (2 + z)."""
    s = scattering(series(Inductor(np.array([8e-6]), np.zeros(1))), np.ones(1), R)[0, 0]
    z = 2j * np.pi * 1e6 * 8e-6 / R
    assert s == pytest.approx(np.array([[z, 2], [2, z]]) / (2 + z), rel=1e-5)


def test_a_ladder_must_end_in_its_antenna():
    shunt = Branch("load", Resistor(np.array([100.0])), "plate")
    with pytest.raises(ValueError, match="antenna"):
        scattering(Ladder(np.array([1e6]), (ANTENNA, shunt)), np.ones(1), R)
