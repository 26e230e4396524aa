"""How far a lead moves the harmonics. Derived: by hand on a lossless pi."""

import numpy as np
import pytest
from samples import coil_for_loaded_q, network

from netsim.circuit.peaking import settings
from netsim.verdict.lead_effect import level_change

OMEGA = 2 * np.pi * 28.5e6


def pi(plate_load=2500.0, **values):
    """Pi of Q 12 on 10 m."""
    coil = coil_for_loaded_q(network(frequency=28.5e6, plate_load=plate_load, coil=1e-6), 12.0)
    return network(frequency=28.5e6, plate_load=plate_load, coil=coil, **values)


def transimpedance(parts, tune, load, lead, order):
    """Antenna voltage per plate current, from the plate on: two nodes and Cramer's rule."""
    w = order * OMEGA
    at_plate, coil = 1j * w * tune, 1 / (1j * w * parts.coil)
    at_output = 1 / parts.antenna_resistance + 1 / (1j * w * lead + 1 / (1j * w * load))
    return np.abs(coil / ((at_plate + coil) * (at_output + coil) - coil**2))


@pytest.mark.parametrize("lead", [20e-9, 30e-9, 40e-9])
def test_change_by_hand(lead):
    parts = pi()
    tune, load, *_ = settings(parts)
    found = level_change(parts, tune, load, lead)
    for order in range(1, 11):
        bare, led = (
            transimpedance(parts, tune, load, value, order) / transimpedance(parts, tune, load, value, 1)
            for value in (0.0, lead)
        )
        assert found[:, order - 1] == pytest.approx(20 * np.log10(led / bare), abs=1e-9)


def test_at_series_resonance_nothing_is_left():
    parts = pi(load_q=1e6)
    tune, load, *_ = settings(parts)
    found = level_change(parts, tune, load, lead=float(1 / ((2 * OMEGA) ** 2 * load[0])))
    assert found[0, 1] < -80
    assert found[0, 3] > 0  # the fourth is above that resonance


@pytest.mark.parametrize("plate_load", [1500.0, 2500.0])
def test_usual_leads_move_the_second_harmonic_of_10_m_by_3_to_14_decibels(plate_load):
    # Cross-solver, outside of this program: 20 to 40 nH moved harmonics of 56 to 59 MHz by 3 to 14 dB.
    found = [level_change(pi(plate_load), lead=lead)[0, 1] for lead in (20e-9, 30e-9, 40e-9)]
    assert found == sorted(found, reverse=True)
    assert all(-16.5 < change < -2.5 for change in found)


def test_each_is_tuned_for_itself_unless_settings_are_given():
    parts = pi()
    held = level_change(parts, *settings(parts)[:2])
    tuned = level_change(parts)
    assert tuned[0, 0] == held[0, 0] == 0
    assert abs(tuned[0, 1] - held[0, 1]) > 0.05


def test_a_lead_there_already_is_replaced():
    assert level_change(pi(load_lead=50e-9)) == pytest.approx(level_change(pi()), abs=1e-9)
