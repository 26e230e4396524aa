"""Loaded Q by the older definition, and the bilinear forms. Derived."""

import numpy as np
import pytest
from samples import network

from netsim.circuit.sections import cut_open, loaded_q
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch

OMEGA = 2 * np.pi * 7e6


def test_loaded_q_adds_everything_on_the_plate_side():
    parts = network(
        output_capacitance=12e-12,
        plate_choke=100e-6,
        plate_choke_capacitance=3e-12,
        tune_stray=8e-12,
        tune_padding=20e-12,
        load_padding=100e-12,
    )
    expected = 2000.0 * (OMEGA * (12 + 3 + 8 + 20 + 60) * 1e-12 - 1 / (OMEGA * 100e-6))
    assert loaded_q(parts, np.array([60e-12])) == pytest.approx([expected], rel=1e-12)


def test_loaded_q_counts_the_tune_capacitor_as_its_lead_makes_it_appear():
    # Derived: 60 pF is 379 ohm at 7 MHz, 100 nH are 4.40 ohm: together as much as 60.70 pF.
    reactance = 1 / (OMEGA * 60e-12) - OMEGA * 100e-9
    found = loaded_q(network(tune_lead=100e-9), np.array([60e-12]))
    assert found == pytest.approx([2000.0 / reactance], rel=1e-12)


EVERYTHING = {
    "topology": "pi-L",
    "output_coil": 2e-6,
    "coil_q": 150.0,
    "output_choke": 1e-3,
    "output_choke_q": 40.0,
    "blocking_capacitance": 1e-9,
    "suppressor_inductance": 1e-7,
    "suppressor_resistance": 47.0,
    "tune_q": 500.0,
    "load_q": 700.0,
    "tune_padding": 1e-11,
    "load_stray": 2e-11,
}
LEADS = {
    "plate_lead": 6e-8,
    "blocking_lead": 3e-8,
    "tune_lead": 2e-7,
    "load_lead": 5e-7,
    "coil_capacitance": 3e-12,
    "output_coil_capacitance": 2e-12,
    "coupling": -0.15,
}


@pytest.mark.parametrize(
    "leads", [{}, LEADS, {"coupling": 0.2}, {"topology": "pi", "coil_capacitance": 4e-12}]
)
def test_forms_are_what_the_ladder_has(leads):
    # Cross-solver: plate voltage and antenna current per plate current, over many settings.
    tune, load = (
        axis.ravel() for axis in np.meshgrid(np.linspace(1e-11, 3e-10, 7), np.geomspace(5e-11, 3e-9, 8))
    )
    parts = network(**EVERYTHING | leads, coil=np.full(len(tune), 5e-6))
    s, solved = cut_open(parts), batch.solve(build_ladder(parts, tune, load), np.ones(1))
    current = s.plate_current.at(tune, load)
    np.testing.assert_allclose(s.plate_impedance(tune, load), solved.plate_impedance[:, 0], rtol=1e-10)
    np.testing.assert_allclose(
        s.antenna_current.at(tune, load) / current, solved.branch_current["antenna"][:, 0], rtol=1e-10
    )
    for form in (s.plate_voltage, s.plate_current, s.antenna_current):
        offset, slope = form.along_tune(load)
        np.testing.assert_allclose(offset + slope * tune, form.at(tune, load), rtol=1e-12)
        offset, slope = form.along_load(tune)
        np.testing.assert_allclose(offset + slope * load, form.at(tune, load), rtol=1e-12)


def test_networks_with_and_without_a_blocking_capacitor_stand_in_one_set():
    # What is absent has the value that makes it vanish; so has one network of many that lacks the part.
    among = network(**EVERYTHING | {"blocking_capacitance": [1e-9, np.inf], "blocking_q": [300.0, np.inf]})
    alone = [
        network(**EVERYTHING | {"blocking_q": 300.0}),
        network(**{key: value for key, value in EVERYTHING.items() if key != "blocking_capacitance"}),
    ]
    for row, parts in enumerate(alone):
        solved = batch.solve(build_ladder(parts, np.array([8e-11]), np.array([6e-10])), np.ones(1))
        found = cut_open(among).plate_impedance(np.full(2, 8e-11), np.full(2, 6e-10))
        np.testing.assert_allclose(found[row], solved.plate_impedance[0, 0], rtol=1e-10)


def test_with_the_antenna_off_no_current_flows_in_it():
    form = cut_open(network(**EVERYTHING, **LEADS), antenna_connected=False).antenna_current
    assert not form.coefficients.any()
