"""Where the capacitors must stand. Derived unless said otherwise; the match itself is in tests/agreement."""

import numpy as np
import pytest
from samples import network

from netsim.circuit.sections import cut_open
from netsim.circuit.tuning import dip, largest_coil, match, plate_impedance, real_roots

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


# Derived: 500 pF is 45.5 ohm at 7 MHz, less than the 219.9 ohm of 5 uH by 174.4, which 130.3 pF resonates with.
@pytest.mark.parametrize(
    ("low", "high", "expected"), [(20, 200, 130.3405), (140, 200, 140), (20, 120, 120), (1e-3, 1e6, 130.3405)]
)
def test_dip_is_within_range_or_at_the_nearest_stop(low, high, expected):
    parts = network(coil=5e-6, tune_minimum=low * 1e-12, tune_maximum=high * 1e-12)
    found = dip(parts, np.array([5e-10]), antenna_connected=False)
    assert found * 1e12 == pytest.approx([expected], rel=1e-6)


def test_a_lead_leaves_less_to_the_capacitor():
    # Derived: X = 1/(w C) - w L, so C becomes C / (1 + w^2 L C): 130.3 pF and 200 nH want 124.0 pF.
    wanted = 130.3405e-12 / (1 + OMEGA**2 * 200e-9 * 130.3405e-12)
    found = dip(network(coil=5e-6, tune_lead=200e-9), np.array([5e-10]), antenna_connected=False)
    assert found == pytest.approx([wanted], rel=1e-6)
    bare, led = match(network(coil=5e-6)), match(network(coil=5e-6, tune_lead=200e-9, load_lead=300e-9))
    for name, lead in (("tune", 200e-9), ("load", 300e-9)):
        without, behind = getattr(bare, name)[0], getattr(led, name)[0]
        assert behind == pytest.approx(without / (1 + OMEGA**2 * lead * without), rel=1e-9)


def test_a_lead_beyond_series_resonance_makes_the_load_capacitor_an_inductance():
    # Derived: what wants -1/(w^2 L) of load capacitance wants an inductance of L there, which this part then is
    # at any large setting; a match that asked for it has settings beyond the resonance.
    coil = 0.36e-6
    parts = network(frequency=28e6, coil=coil, load_lead=200e-9)
    found = match(parts)
    resonance = 1 / ((2 * np.pi * 28e6) ** 2 * 200e-9)
    beyond = found.load > resonance
    assert beyond.any()
    for tune, load in zip(found.tune[beyond], found.load[beyond], strict=True):
        assert abs(plate_impedance(parts, tune, load) - 2000) < 1e-6


def test_a_pi_l_with_coupled_coils_by_hand():
    # Derived: two coils in series that aid are L1 + L2 + 2M; with hardly any load capacitance between them the
    # pi-L is an L network: 2000 to 50 ohm wants X = 50 sqrt(39) and, at the plate, 2000 / sqrt(39) ohm.
    reactance = 50 * np.sqrt(39)
    coil, other, k = 4e-6, 1.5e-6, 0.2
    total = coil + other + 2 * k * np.sqrt(coil * other)
    parts = network(
        topology="pi-L",
        frequency=reactance / (2 * np.pi * total),
        coil=coil,
        output_coil=other,
        coupling=k,
    )
    tune = np.sqrt(39) / (2000 * reactance / total)
    assert plate_impedance(parts, np.array([tune]), np.array([0.0])) == pytest.approx([2000], rel=1e-9)


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
