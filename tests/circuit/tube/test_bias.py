"""Ways to make the bias: what they carry, and where a tube on a cathode resistor idles."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from netsim.circuit.tube.bias import cathode_resistor, cathode_voltage
from netsim.circuit.tube.operating_state import idle_current
from netsim.circuit.tube.triode import TubeConstants

TUBE = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -12.0, 95.0)


def test_a_zener_by_hand():
    """Derived: 12 V at 0.6 A is 7.2 W."""
    held = cathode_voltage(TUBE, 0.6)
    assert (held.voltage, held.current, held.power) == (12.0, 0.6, pytest.approx(7.2))


def test_a_resistor_by_hand():
    """Derived: 12 V / 0.6 A = 20 ohm, 0.6^2 x 20 = 7.2 W."""
    made = cathode_resistor(TUBE, 2900.0, 0.6)
    assert made.resistance == pytest.approx([20.0])
    assert made.power == pytest.approx([7.2])


@given(bias=st.floats(-60, -0.5), current=st.floats(0.05, 1.5), volts=st.floats(800, 4000))
def test_the_idle_point_is_on_tube_and_resistor_alike(bias, current, volts):
    """Cross-solver: scipy's root of the three-halves law, written out anew, against Ohm's law at the cathode."""
    tube = replace(TUBE, bias_voltage=bias)
    made = cathode_resistor(tube, volts, current)
    ohms = -bias / current

    def difference(i):
        lift = max(-i * ohms + (volts - i * ohms) / 110, 0.0)
        return 2 * 1.1e-3 * lift**1.5 * np.tanh((volts - i * ohms) / 90) - i

    idle = brentq(difference, 0, volts / ohms, xtol=1e-14)
    assert made.idle_current == pytest.approx([idle], rel=1e-8)
    assert made.idle_bias_voltage == pytest.approx([-idle * ohms], rel=1e-8)
    assert made.idle_dissipation == pytest.approx([idle * (volts - idle * ohms)], rel=1e-8)


def test_a_resistor_lets_the_bias_fall_where_a_zener_holds_it():
    """Derived: less current than at full output makes less bias, so the tube idles with more current."""
    made = cathode_resistor(TUBE, 2600.0, 0.6)
    assert -12.0 < made.idle_bias_voltage[0] < 0
    assert made.idle_current[0] > idle_current(TUBE, 2600.0)[0]


def test_a_tube_without_negative_bias_needs_neither():
    for bias in (0.0, 5.0):
        tube = replace(TUBE, bias_voltage=bias)
        assert np.isnan(cathode_voltage(tube, 0.6).voltage).all()
        assert np.isnan(cathode_resistor(tube, 2900.0, 0.6).idle_current).all()


def test_rows():
    """Derived: each row is what it gives alone."""
    tube = replace(TUBE, bias_voltage=np.array([-12.0, -20.0]))
    both = cathode_resistor(tube, np.array([2600.0, 3000.0]), np.array([0.6, 0.4]))
    assert both.resistance == pytest.approx([20.0, 50.0])
    alone = cathode_resistor(replace(TUBE, bias_voltage=-20.0), 3000.0, 0.4)
    assert both.idle_current[1] == pytest.approx(alone.idle_current[0], rel=1e-12)
