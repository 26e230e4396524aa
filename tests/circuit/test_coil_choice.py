"""Which coil would do. Cross-solver: the coil found is put in and tuned."""

import numpy as np
import pytest
from samples import network

from netsim.circuit.coil_choice import coil_for_loaded_q, coils_in_range
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import match


@pytest.mark.parametrize("wanted", [8.0, 12.0, 18.0])
@pytest.mark.parametrize("values", [{}, {"coil_q": 200.0, "blocking_capacitance": 1e-9, "coil": 1e-6}])
def test_coil_for_a_loaded_q(wanted, values):
    coil = coil_for_loaded_q(network(**values), wanted)
    parts = network(**values | {"coil": coil})
    assert loaded_q(parts, match(parts).tune[0]) == pytest.approx([wanted], rel=1e-4)


def test_no_coil_for_a_loaded_q_below_the_least():
    # Derived: sqrt(2000/50 - 1) = 6.24 is the least.
    assert np.isnan(coil_for_loaded_q(network(), 4.0)).all()


def test_coils_in_range_are_all_that_tune():
    ranges = {"tune_minimum": 9e-11, "tune_maximum": 1.3e-10, "load_minimum": 3e-10, "load_maximum": 7e-10}
    reach = coils_in_range(network(coil=5e-6, **ranges))
    low, high = reach.low.item(), reach.high.item()
    for coil, tunes in ((low, True), (high, True), (low * 0.99, False), (high * 1.01, False)):
        parts = network(coil=coil, **ranges)
        assert match(parts).within(parts).any() == tunes
    assert low < 5.06e-6 < high


def test_nearest_stretch_is_found_from_either_side():
    ranges = {"tune_minimum": 9e-11, "tune_maximum": 1.3e-10, "load_minimum": 3e-10, "load_maximum": 7e-10}
    here = coils_in_range(network(coil=5e-6, **ranges))
    for coil in (2e-6, 12e-6):
        there = coils_in_range(network(coil=coil, **ranges))
        assert there.low == pytest.approx(here.low, rel=0.012)
        assert there.high == pytest.approx(here.high, rel=0.012)


def test_no_coil_in_range():
    ranges = {"tune_minimum": 1e-12, "tune_maximum": 2e-12, "load_minimum": 1e-12, "load_maximum": 2e-12}
    reach = coils_in_range(network(**ranges))
    assert np.isnan(reach.low).all()
    assert np.isnan(reach.high).all()
