"""Resistance of stretches. Derived: one formula a run, written out here."""

import numpy as np
import pytest

from netsim.circuit.coil.conductor_loss import wire_resistance
from netsim.circuit.coil.medhurst import proximity_factor
from netsim.circuit.coil.partial_resistance import run_resistances, stretch_resistance
from netsim.circuit.coil.winding import COPPER_60C, Solenoid, Toroid, Winding

SOLENOID = Solenoid(turns=10, mean_diameter=0.05, pitch=0.005, conductor_diameter=0.002)
TOROID = Toroid(turns=20, inductance_per_turn_squared=15e-9, unloaded_q=220)
BOTH = Winding((SOLENOID, TOROID))
F = np.array([7e6])


def stretch(begin, end, winding=BOTH):
    return float(stretch_resistance(winding, np.array([begin]), np.array([end]), F)[0])


def test_a_stretch_of_a_solenoid_is_wire_times_medhurst():
    length = 4 * np.hypot(np.pi * 0.05, 0.005)
    by_hand = wire_resistance(length, 0.002, COPPER_60C, 7e6) * proximity_factor(4 * 0.005 / 0.05, 2.5)
    assert stretch(3.0, 7.0) == pytest.approx(float(by_hand), rel=1e-12)


def test_a_whole_toroid_has_its_own_q_and_half_of_it_half_the_resistance():
    whole = 2 * np.pi * 7e6 * 15e-9 * 20**2 / 220
    assert stretch(10.0, 30.0) == pytest.approx(whole, rel=1e-12)
    assert stretch(10.0, 20.0) == pytest.approx(whole / 2, rel=1e-12)


def test_runs_add_up_to_the_stretch_and_say_how_many_turns_they_have():
    parts = list(run_resistances(BOTH, np.array([6.0]), np.array([15.0]), F))
    assert [float(part.turns[0]) for part in parts] == [4.0, 5.0]
    assert sum(float(part.resistance[0]) for part in parts) == pytest.approx(stretch(6.0, 15.0))
