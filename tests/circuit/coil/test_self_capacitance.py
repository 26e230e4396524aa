import numpy as np
import pytest

from netsim.circuit.coil.self_capacitance import self_capacitance, self_resonance


def test_self_capacitance_against_the_fit():
    # From memory: H = 0.1126 l/D + 0.08 + 0.27 sqrt(D/l) pF/cm, up to 7.6 % off the table near l/D 4.
    ratio = np.geomspace(0.1, 10.0, 50)
    fit = 0.1126 * ratio + 0.08 + 0.27 / np.sqrt(ratio)
    np.testing.assert_allclose(self_capacitance(0.01, 0.01 * ratio) * 1e12, fit, rtol=0.08)


def test_self_capacitance_beyond_the_table_goes_on():
    values = self_capacitance(0.01, 0.01 * np.array([0.05, 0.1, 10.0, 20.0])) * 1e12
    # Derived: the end slopes continued, .96^2 / .70 and 1.32^2 / .81.
    np.testing.assert_allclose(values, [0.96**2 / 0.70, 0.96, 1.32, 1.32**2 / 0.81], rtol=1e-12)


def test_self_resonance():
    # Derived: 10 uH with 2.533 pF is 31.62 MHz.
    assert self_resonance(10e-6, 2.533e-12) == pytest.approx(31.62e6, rel=1e-3)
    assert self_resonance(10e-6, 0.0) == np.inf
