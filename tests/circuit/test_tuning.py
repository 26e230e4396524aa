"""Where the capacitors must stand. Derived unless said otherwise; the match itself is in tests/agreement."""

import numpy as np
import pytest
from samples import network

from netsim.circuit.sections import cut_open
from netsim.circuit.tuning import dip, largest_coil, match, real_roots

OMEGA = 2 * np.pi * 7e6


@pytest.mark.parametrize(
    ("coefficients", "roots"),
    [
        ((1, -3, 2), {1, 2}),
        ((1, 3, 2), {-1, -2}),
        ((0, 2, -4), {2}),
        ((1, 0, -4), {2, -2}),
        ((1, 2, 5), set()),
        ((1, -1e9, 1), {1e9, 1e-9}),
    ],
)
def test_roots(coefficients, roots):
    found = real_roots(*(np.array([float(c)]) for c in coefficients)).ravel()
    ours = sorted(found[np.isfinite(found)])
    assert ours == pytest.approx(sorted(roots), rel=1e-15)


def two_candidates(**values):
    return network(coil=9.2e-6 * 0.7, **values)


def test_first_candidate_has_more_load_capacitance():
    # A coil just below the largest has both roots.
    largest = largest_coil(network(coil=6e-6)).item()
    found = match(network(coil=largest * 0.9995))
    assert found.exists.all()
    assert found.load[0] > found.load[1] > 0
    assert found.tune[0] > found.tune[1]


def test_settings_are_of_the_variable_part_alone():
    bare = match(network(coil=5e-6))
    dressed = match(
        network(
            coil=5e-6,
            output_capacitance=12e-12,
            plate_choke_capacitance=3e-12,
            tune_stray=8e-12,
            tune_padding=20e-12,
            load_stray=10e-12,
            load_padding=150e-12,
        )
    )
    # Without anything in the plate lead all capacitances at a node simply add.
    assert bare.tune[0] - dressed.tune[0] == pytest.approx([43e-12], rel=1e-9)
    assert bare.load[0] - dressed.load[0] == pytest.approx([160e-12], rel=1e-9)


def test_plate_choke_takes_its_susceptance_off():
    bare, choked = match(network(coil=5e-6)), match(network(coil=5e-6, plate_choke=50e-6))
    assert choked.tune[0] - bare.tune[0] == pytest.approx([1 / (OMEGA**2 * 50e-6)], rel=1e-9)
    choked = match(network(coil=5e-6, output_choke=10e-6))
    assert choked.load[0] - bare.load[0] == pytest.approx([1 / (OMEGA**2 * 10e-6)], rel=1e-9)


def test_a_setting_may_be_negative_but_the_load_side_in_total_not():
    too_much = match(network(coil=5e-6, tune_stray=400e-12, load_padding=2e-9))
    assert too_much.tune[0] < 0
    assert too_much.load[0] < 0
    assert too_much.load[0] + 2e-9 > 0
    # The other root of this coil would want less than no capacitance at the load side.
    assert not too_much.exists[1].any()
    assert np.isnan(too_much.tune[1]).all()


def test_no_candidate():
    found = match(network(coil=50e-6))
    assert not found.exists.any()
    assert np.isnan(found.tune).all()
    assert not found.within(network()).any()


def test_within_asks_for_both_parts():
    found = match(network(coil=5e-6))
    tune, load = found.tune[0].item(), found.load[0].item()
    for values, expected in (
        ({}, True),
        ({"tune_minimum": tune, "load_maximum": load}, True),
        ({"tune_minimum": tune * 1.001}, False),
        ({"tune_maximum": tune * 0.999}, False),
        ({"load_minimum": load * 1.001}, False),
        ({"load_maximum": load * 0.999}, False),
    ):
        assert found.within(network(**values))[0].item() is expected


def test_dip_without_antenna_is_parallel_resonance():
    # Lossless: coil and load capacitor in series, in resonance with the tune capacitor.
    load = np.array([5e-10])
    tune = dip(network(coil=5e-6), load, antenna_connected=False)
    series = 1 / (OMEGA * 5e-6 - 1 / (OMEGA * load))
    assert tune == pytest.approx(series / OMEGA, rel=1e-9)


def test_dip_is_not_the_series_resonance_of_the_plate_lead():
    # With a blocking capacitor Im Y_P = 0 has a second root, at which the plate is shorted.
    parts = network(coil=5e-6, blocking_capacitance=1e-10)
    load = np.array([5e-10])
    tune = dip(parts, load, antenna_connected=False)
    s = cut_open(parts, antenna_connected=False)
    assert abs(s.plate_current.at(tune, load)) < 1e-12 * abs(s.plate_current.at(tune * 1.5, load))
    assert abs(s.plate_voltage.at(tune, load)) > 1e-3 * abs(s.plate_voltage.at(tune * 1.5, load))


def test_largest_coil_over_many_networks():
    parts = network(coil=[1e-6, 5e-6, 50e-6], plate_load=[2000.0, 2000.0, 2000.0])
    assert largest_coil(parts) == pytest.approx(np.full(3, largest_coil(network(coil=5e-6)).item()), rel=1e-9)


def test_no_coil_at_all():
    # The coil's own losses exceed what the plate may see: nothing matches 50 ohm to 40 ohm with q 5 in between.
    hopeless = network(plate_load=49.0, antenna_resistance=10e3, coil_q=5.0, coil=1e-6, load_q=5.0)
    largest = largest_coil(hopeless).item()
    found = [match(network(plate_load=49.0, antenna_resistance=10e3, coil_q=5.0, coil=c, load_q=5.0))
             for c in np.geomspace(1e-9, 1e-5, 400)]  # fmt: skip
    assert np.isnan(largest) == (not any(f.exists.any() for f in found))
