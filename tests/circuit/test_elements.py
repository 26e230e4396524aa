"""Losses of the elements. Derived: by hand from X/q."""

import numpy as np
import pytest

from netsim.circuit.elements import Capacitor, Inductor

MHZ = np.array([1e6 / (2 * np.pi)])  # omega 1e6


def test_capacitor_loses_a_qth_of_its_reactance():
    part = Capacitor.of_quality(np.array([1e-9]), np.array(200.0), MHZ)
    assert part.resistance == pytest.approx([1000.0 / 200.0])


def test_coil_loses_a_qth_of_its_reactance_growing_with_the_root_of_the_order():
    part = Inductor.of_quality(np.array([1e-4]), np.array(50.0), MHZ)
    assert part.resistance == pytest.approx([100.0 / 50.0])
    assert part.resistance_at(np.array([1.0, 4.0, 9.0])) == pytest.approx(np.array([[2.0, 4.0, 6.0]]))


def test_without_a_q_nothing_is_lost():
    assert Capacitor.of_quality(np.array([1e-9]), np.array(np.inf), MHZ).resistance == [0.0]
    assert Inductor.of_quality(np.array([1e-6]), np.array(np.inf), MHZ).resistance == [0.0]
    assert Inductor.of_quality(np.array([np.inf]), np.array(np.inf), MHZ).resistance == [0.0]


def test_absent_capacitor_has_no_resistance_to_divide_by():
    part = Capacitor.of_quality(np.array([0.0, 1e-9]), np.array(100.0), MHZ)
    assert part.resistance == pytest.approx([0.0, 10.0])
