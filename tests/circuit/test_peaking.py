"""Where peaking the output ends. Derived unless said otherwise; searches are in tests/agreement."""

import tracemalloc

import numpy as np
import pytest
from samples import network

from netsim.circuit.peaking import PREFERENCE, settings
from netsim.circuit.stage import voltage_limit
from netsim.circuit.tuning import largest_coil, match, plate_impedance

# 5.06 uH, Q 10: 114 pF and 562 pF.
RANGES = {"tune_minimum": 2e-11, "tune_maximum": 3e-10, "load_minimum": 5e-11, "load_maximum": 2e-9}


def test_voltage_limit():
    limit = voltage_limit(np.array(2000.0), np.array([1000.0, 2000.0, 3000 + 4000j, -4000j]))
    assert limit == pytest.approx([1.0, 1.0, 0.4, 0.5])


def test_match_in_range_is_taken_as_it_is():
    parts = network(coil=5.06e-6, **RANGES)
    tune, load, tune_needed, load_needed = settings(parts)
    assert (tune, load) == (tune_needed, load_needed)
    assert abs(plate_impedance(parts, tune, load) - 2000) < 1e-6


def near_the_largest():
    coil = largest_coil(network(coil=6e-6)).item() * 0.999
    found = match(network(coil=coil))
    return coil, found


def test_of_two_matches_in_range_the_one_with_more_load_capacitance():
    coil, found = near_the_largest()
    assert found.within(network()).all()
    tune, load, *_ = settings(network(coil=coil))
    assert (tune, load) == (found.tune[0], found.load[0])


def test_of_two_matches_the_one_in_range():
    coil, found = near_the_largest()
    between = np.sqrt(found.load[0] * found.load[1]).item()
    tune, load, tune_needed, load_needed = settings(network(coil=coil, load_maximum=between))
    assert (tune, load) == (tune_needed, load_needed) == (found.tune[1], found.load[1])


def test_of_two_matches_out_of_range_the_needed_one_has_more_load_capacitance():
    coil, found = near_the_largest()
    *_, tune_needed, load_needed = settings(network(coil=coil, tune_minimum=4e-10, tune_maximum=5e-10))
    assert (tune_needed, load_needed) == (found.tune[0], found.load[0])


@pytest.mark.parametrize(
    "stop",
    [{"tune_minimum": 2e-10}, {"tune_maximum": 8e-11}, {"load_minimum": 9e-10}, {"load_maximum": 3e-10}],
)
def test_stuck_part_stays_at_its_stop(stop):
    parts = network(coil=5.06e-6, **RANGES | stop)
    tune, load, tune_needed, load_needed = settings(parts)
    (name, value), *_ = stop.items()
    assert (tune if name.startswith("tune") else load) == [value]
    assert tune_needed * 1e12 == pytest.approx([114], rel=0.01)
    assert load_needed * 1e12 == pytest.approx([562], rel=0.01)


def test_negative_need_goes_to_the_minimum():
    parts = network(coil=5.06e-6, tune_padding=2e-10, **RANGES)
    tune, _, tune_needed, _ = settings(parts)
    assert tune_needed < 0
    assert tune == parts.tune_minimum


@pytest.mark.parametrize("lead", [{}, {"blocking_capacitance": 1e-9}])
def test_no_match_gives_finite_settings_in_range(lead):
    # Without parts in the plate lead the tune capacitor does not change the plate swing: nothing to divide by.
    parts = network(coil=[20e-6, 100e-6, 400e-6], **RANGES, **lead)
    tune, load, tune_needed, load_needed = settings(parts)
    assert np.isnan(tune_needed).all()
    assert np.isnan(load_needed).all()
    assert ((parts.tune_minimum <= tune) & (tune <= parts.tune_maximum)).all()
    assert ((parts.load_minimum <= load) & (load <= parts.load_maximum)).all()


@pytest.mark.parametrize("lead", [{}, {"blocking_capacitance": 1e-9}])
def test_stuck_load_capacitor_leaves_the_tune_capacitor_at_the_dip(lead):
    # Where the plate swing is the limit, the output hardly depends on the tune capacitor; the operator dips.
    parts = network(coil=5.06e-6, **RANGES | {"load_minimum": 1.2e-9}, **lead)
    tune, load, *_ = settings(parts)
    assert np.isfinite(tune).all()
    assert parts.tune_minimum < tune < parts.tune_maximum
    assert load == parts.load_minimum


def test_both_stuck():
    parts = network(
        coil=5.06e-6, tune_minimum=2e-10, tune_maximum=3e-10, load_minimum=1e-9, load_maximum=2e-9
    )
    tune, load, *_ = settings(parts)
    assert (tune == parts.tune_minimum) | (load == parts.load_minimum)


def test_networks_of_one_set_are_settled_each_for_itself():
    values = {"coil": [5.06e-6, 50e-6, 5.06e-6], "tune_minimum": [2e-11, 2e-11, 2e-10]}
    many = settings(network(**RANGES | values))
    for index in range(3):
        one = settings(network(**RANGES | {k: v[index] for k, v in values.items()}))
        for ours, alone in zip(many, one, strict=True):
            assert ours[index] == pytest.approx(alone.item(), nan_ok=True, rel=1e-9)


def test_preference_is_five_percent():
    # Derived: 0.2 dB, which no meter needle shows.
    assert pytest.approx(0.05) == PREFERENCE


def test_memory_is_bounded():
    # 6,000 networks without a match; all at once they would take a gigabyte.
    rng = np.random.default_rng(1)
    parts = network(coil=rng.uniform(20e-6, 60e-6, 6000), **RANGES)
    tracemalloc.start()
    settings(parts)
    _, highest = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert highest < 100e6
