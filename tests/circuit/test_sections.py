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


def test_forms_are_what_the_ladder_has():
    # Cross-solver: plate voltage and current per volt at the coil's output, and antenna current.
    parts = network(
        topology="pi-L",
        output_coil=2e-6,
        coil_q=150.0,
        output_choke=1e-3,
        output_choke_q=40.0,
        blocking_capacitance=1e-9,
        suppressor_inductance=1e-7,
        suppressor_resistance=47.0,
        tune_q=500.0,
        load_q=700.0,
    )
    tune, load = np.array([1.1e-10]), np.array([5.5e-10])
    s, solved = cut_open(parts), batch.solve(build_ladder(parts, tune, load), np.ones(1))
    output = solved.node_voltage["output"][:, 0]
    assert s.plate_voltage.at(tune, load) == pytest.approx(solved.node_voltage["plate"][:, 0] / output)
    assert s.plate_current.at(tune, load) == pytest.approx(1 / output)
    assert s.output_to_antenna == pytest.approx(solved.branch_current["antenna"][:, 0] / output)
    for form in (s.plate_voltage, s.plate_current):
        offset, slope = form.along_tune(load)
        assert offset + slope * tune == pytest.approx(form.at(tune, load))
        offset, slope = form.along_load(tune)
        assert offset + slope * load == pytest.approx(form.at(tune, load))
