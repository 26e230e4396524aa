"""The cold match, against the network turned round and solved from the antenna socket.

Cross-solver: scikit-rf's two-port analysis and ngspice of the reversed ladder, and a dense nodal matrix.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from samples import networks
from turned_round import turned_round

import netsim
from netsim.analysis.bench.cold_match import PlateResistor, cold_ladder, socket_impedance
from netsim.circuit.assembly import assemble
from netsim.circuit.elements import Branch, Capacitor, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.peaking import settings
from netsim.solvers import spice, two_port


def seen(parts, resistance):
    tune, load, _, _ = settings(parts)
    nothing = np.zeros(())
    resistor = PlateResistor(np.asarray(resistance), nothing, nothing)
    amplifier = netsim.read("tests/examples/plain.toml")
    return socket_impedance(amplifier, parts, tune, load, resistor), tune, load


@given(networks(with_leads=False))
def test_two_port_analysis_from_the_antenna(parts):
    found, tune, load = seen(parts, 2200.0)
    ladder = turned_round(parts, tune, load, 2200.0)
    there = two_port.solve(ladder, np.ones(1)).plate_impedance[:, 0]
    assert found == pytest.approx(there, rel=1e-7)


def test_ngspice_from_the_antenna(root, monkeypatch):
    monkeypatch.chdir(root)
    parts = assemble(netsim.read("circuits/new-tube.toml"), points=False).parts
    found, tune, load = seen(parts, 3300.0)
    spice.start()
    there = spice.solve(turned_round(parts, tune, load, 3300.0), np.ones(1)).plate_impedance[:, 0]
    assert found == pytest.approx(there, rel=1e-6)


def nodal(ladder, node):
    """Return the impedance at a node of a ladder of one network by its admittance matrix; nothing else is on it."""
    omega = 2 * np.pi * ladder.frequency[0]
    names = list(ladder.nodes)
    matrix = np.zeros((len(names), len(names)), dtype=complex)
    for branch in ladder.branches:
        match branch.element:
            case Capacitor(capacitance=c, resistance=r):
                admittance = 1 / (np.ravel(r)[0] + 1 / (1j * omega * np.ravel(c)[0])) if np.ravel(c)[0] else 0
            case Inductor() as coil:
                value = np.ravel(coil.inductance)[0]
                admittance = 1 / (coil.resistance_at(np.ones(1)).ravel()[0] + 1j * omega * value)
            case Resistor(resistance=r):
                admittance = 1 / np.ravel(r)[0]
            case element:
                x = 1j * omega * np.ravel(element.inductance)[0]
                admittance = 1 / x + 1 / np.ravel(element.resistance)[0]
        i = names.index(branch.node)
        matrix[i, i] += admittance
        if branch.to is not None:
            k = names.index(branch.to)
            matrix[k, k] += admittance
            matrix[i, k] -= admittance
            matrix[k, i] -= admittance
    source = np.zeros(len(names), dtype=complex)
    source[names.index(node)] = 1
    return np.linalg.solve(matrix, source)[names.index(node)]


@pytest.mark.parametrize("stray", [(0.0, 0.0), (40e-9, 0.6e-12)])
def test_a_resistor_with_leads_by_nodal_analysis(root, monkeypatch, stray):
    monkeypatch.chdir(root)
    amplifier = netsim.read("circuits/new-tube-pi-l.toml")
    parts = assemble(amplifier, points=False).parts
    tune, load, _, _ = settings(parts)
    resistor = PlateResistor(np.asarray(2700.0), *(np.asarray(value) for value in stray))
    found = socket_impedance(amplifier, parts, tune, load, resistor)
    ladder = cold_ladder(parts, tune, load, resistor)
    for row in range(0, len(parts), 3):
        alone = ladder.single(row)
        off = replace(alone, branches=alone.branches[:-1])
        assert found[row] == pytest.approx(nodal(off, alone.nodes[-1]), rel=1e-7)


def test_strays_of_the_resistor_from_the_antenna(root, monkeypatch):
    """Its lead in series and its capacitance across both, put together here and solved by two-port analysis."""
    monkeypatch.chdir(root)
    amplifier = netsim.read("circuits/new-tube.toml")
    parts = assemble(amplifier, points=False).parts
    tune, load, _, _ = settings(parts)
    resistor = PlateResistor(*(np.asarray(value) for value in (3300.0, 60e-9, 0.8e-12)))
    found = socket_impedance(amplifier, parts, tune, load, resistor)
    ladder = turned_round(parts, tune, load, 3300.0)
    row = np.ones(len(parts))
    ideal = np.array(np.inf)
    across = Branch("across", Capacitor.of_quality(0.8e-12 * row, ideal, parts.frequency), "far_end")
    lead = Branch("lead", Inductor.of_quality(60e-9 * row, ideal, parts.frequency), "far_end", "end")
    last = Branch("antenna", Resistor(3300.0 * row), "end")
    whole = Ladder(ladder.frequency, (*ladder.branches[:-1], across, lead, last), ladder.couplings)
    assert found == pytest.approx(two_port.solve(whole, np.ones(1)).plate_impedance[:, 0], rel=1e-7)
    plain, _, _ = seen(parts, 3300.0)
    assert abs(found[-1] - plain[-1]) > 0.5


def test_a_match_looks_like_the_antenna_from_behind():
    """Derived: a lossless network that turns 50 ohm into the plate load turns that load back into 50 ohm."""
    from samples import network

    parts = network(plate_load=2000.0, coil=5.5e-6)
    found, _, _ = seen(parts, 2000.0)
    assert found == pytest.approx([50.0], rel=1e-6)
