"""Tube and network together: energy balance, and ngspice over time as the independent check."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from netsim.circuit.assembly import assemble
from netsim.circuit.parts import Parts
from netsim.circuit.peaking import settings as tuned
from netsim.circuit.topology import build_ladder
from netsim.circuit.tube.triode import TubeConstants
from netsim.description.reader import read
from netsim.solvers import batch, harmonic_balance, netlist, spice, transient
from netsim.solvers.harmonic_balance import ORDERS
from netsim.solvers.start_state import state_at_crest
from netsim.solvers.steady_state import Balance

TUBE = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)
SUPPLY = 2600.0


def parts_of(circuits, name) -> Parts:
    return assemble(read(circuits / name)).parts


def balanced(ladder, tube) -> Balance:
    impedance = batch.solve(ladder, np.arange(1.0, ORDERS + 1)).plate_impedance
    return harmonic_balance.solve(impedance, tube, SUPPLY).require_converged()


def compare(parts, tube, tune, load, row, **how):
    """Differences [dB] and levels [dBc] of the antenna's voltage, orders 1 to 10."""
    ladder = build_ladder(parts, tune, load)
    found = balanced(ladder, tube)
    solution = batch.solve(ladder, np.arange(1.0, 11))
    terminal = np.abs(solution.node_voltage[ladder.nodes[-1]] * found.plate_current[:, :10])[row]
    start = None if how.pop("cold", False) else state_at_crest(ladder, found, row)
    spectrum = transient.solve(ladder.single(row), tube, SUPPLY, start, **how)
    # Of an overdriven pulse, steps of T/400 miss half a per cent; with T/1600 it is 2e-5.
    assert spectrum.plate_current_dc == pytest.approx(found.plate_current_dc[row], rel=5e-3)
    return 20 * np.log10(spectrum.antenna_voltage / terminal), 20 * np.log10(terminal / terminal[0])


def assert_within_gates(apart, level):
    assert np.abs(apart[level >= -70]).max() < 0.1
    assert np.abs(apart[level >= -80]).max() < 0.3


@pytest.mark.parametrize(
    ("name", "row", "connection"),
    [
        ("new-tube.toml", 0, "grounded grid"),
        ("new-tube.toml", 13, "grounded cathode"),
        ("new-tube-pi-l.toml", 6, "grounded grid"),
    ],
)
def test_warm_transient(circuits, name, row, connection):
    """Cross-solver, started from the balance's own state."""
    parts = parts_of(circuits, name)
    tune, load, _, _ = tuned(parts)
    tube = replace(TUBE, connection=connection)
    assert_within_gates(*compare(parts, tube, tune, load, row))


def test_cold_transient(circuits):
    """Cross-solver, started at rest: shares nothing with the balance but the element values."""
    parts = parts_of(circuits, "new-tube.toml")
    tune, load, _, _ = tuned(parts)
    assert_within_gates(*compare(parts, TUBE, tune, load, 3, cold=True))


@pytest.mark.parametrize(("turn", "drive"), [(1.05, 95.0), (0.93, 95.0), (1.0, 220.0)])
def test_mistuned_and_overdriven(circuits, turn, drive):
    """Cross-solver: off the dip on either side, and driven far into the knee."""
    parts = parts_of(circuits, "new-tube.toml")
    tune, load, _, _ = tuned(parts)
    tube = replace(TUBE, drive_voltage_peak=drive)
    assert_within_gates(*compare(parts, tube, tune * turn, load, 3, cycles=40))


@pytest.mark.parametrize(
    "other",
    [
        {"grid_perveance": None},
        {"grid_perveance": 6e-4, "connection": "grounded cathode", "drive_voltage_peak": 120.0},
        {"screen_voltage": 350.0, "screen_amplification_factor": 6.0, "bias_voltage": -70.0},
    ],
)
def test_other_laws(circuits, other):
    """Cross-solver: a grid that is not known, one that takes much, one before a screen."""
    parts = parts_of(circuits, "new-tube.toml")
    tune, load, _, _ = tuned(parts)
    assert_within_gates(*compare(parts, replace(TUBE, **other), tune, load, 3))


@pytest.mark.parametrize(
    "tube",
    [
        TUBE,
        replace(TUBE, grid_perveance=None, connection="grounded cathode"),
        replace(TUBE, screen_voltage=350.0, screen_amplification_factor=6.0),
    ],
)
def test_the_expression_of_the_current(tube):
    """Cross-solver: ngspice reads the law as numpy does, plate from -500 V to 3 kV and grid from -60 V to 120 V.

    The plate rises once while the grid swings many times, so that all corners of the law are met.
    """
    stop = 1e-3
    text = netlist.text(
        [
            "law of the tube",
            f"vplate plate 0 pwl(0 -500 {stop} 3000)",
            "vgrid grid 0 sin(30 90 37k)",
            "vtube supply tube_node 0",
            "vsupply supply 0 100",
            f"btube tube_node 0 i={transient.tube_current(tube, 'v(plate)')}",
            ".save v(plate) v(grid) i(vtube)",
            ".options reltol=1e-7 abstol=1e-12 vntol=1e-9",
            f".tran 0.2u {stop} 0 0.2u uic",
            ".end",
        ]
    )
    found = spice.transient(text, 0.2e-6, stop, ["plate", "grid", "vtube#branch"])
    expected = tube.plate_current(found["plate"], found["grid"])
    assert expected.max() > 1
    np.testing.assert_allclose(found["vtube#branch"], expected, rtol=1e-5, atol=2e-6)


def test_without_plate_choke_suppressor_and_losses():
    """Cross-solver: an ideal choke and a wire where the file has none."""
    parts = Parts(
        topology="pi",
        frequency=np.array([7e6]),
        plate_load=np.array(3000.0),
        coil=np.array(7e-6),
        tune_minimum=np.array(1e-12),
        tune_maximum=np.array(1e-9),
        load_minimum=np.array(1e-11),
        load_maximum=np.array(1e-8),
        blocking_capacitance=np.array(1e-9),
    )
    tune, load, _, _ = tuned(parts)
    assert_within_gates(*compare(parts, TUBE, tune, load, 0, cycles=40))


@pytest.mark.parametrize("name", ["new-tube.toml", "new-tube-pi-l.toml"])
def test_leads_self_capacitances_and_coupled_coils(circuits, name):
    """Cross-solver: each starts with its own current or charge, the plate's lead with the DC besides."""
    leads = {"plate_lead": 80e-9, "blocking_lead": 25e-9, "tune_lead": 30e-9, "load_lead": 40e-9}
    leads |= {"coil_capacitance": 4e-12, "output_coil_capacitance": 3e-12, "coupling": 0.08}
    parts = replace(parts_of(circuits, name), **{key: np.asarray(value) for key, value in leads.items()})
    tune, load, _, _ = tuned(parts)
    assert_within_gates(*compare(parts, TUBE, tune, load, 3))


def test_the_plates_lead_starts_with_what_the_tube_draws(circuits):
    """Derived: with nothing at the plate itself its lead carries the tube's current, backwards; DC included."""
    parts = replace(
        parts_of(circuits, "new-tube.toml"), plate_lead=np.asarray(80e-9), output_capacitance=np.zeros(())
    )
    tune, load, _, _ = tuned(parts)
    ladder = build_ladder(parts, tune, load)
    found = balanced(ladder, TUBE)
    start = state_at_crest(ladder, found, 3)
    drawn = found.plate_current_dc[3] + found.plate_current[3].real.sum()
    assert start.of("plate_lead") == pytest.approx(-drawn, rel=1e-9)


@settings(max_examples=30)
@given(
    name=st.sampled_from(["new-tube.toml", "new-tube-pi-l.toml", "old-tubes.toml"]),
    turn=st.tuples(st.floats(0.7, 1.4), st.floats(0.4, 2.5)),
    drive=st.floats(40, 250),
    bias=st.floats(-60, 0),
    connection=st.sampled_from(["grounded grid", "grounded cathode"]),
)
def test_energy_balance(circuits, name, turn, drive, bias, connection):
    """Derived: DC + drive + bias = output + dissipation of plate and grid + losses of all parts, 0.1 %.

    Each is taken by its own way: powers of the sources from currents, dissipation from waves, output and
    losses from branch currents of the linear network, all orders.
    """
    parts = parts_of(circuits, name)
    tune, load, _, _ = tuned(parts)
    tube = replace(TUBE, drive_voltage_peak=drive, bias_voltage=bias, connection=connection)
    ladder = build_ladder(parts, tune * turn[0], load * turn[1])
    found = balanced(ladder, tube)
    solution = batch.solve(ladder, np.arange(1.0, ORDERS + 1))
    network = np.zeros(len(parts))
    for branch in ladder.branches:
        current = solution.branch_current[branch.name] * found.plate_current
        far = 0 if branch.to is None else solution.node_voltage[branch.to]
        voltage = (solution.node_voltage[branch.node] - far) * found.plate_current
        network += (voltage * np.conj(current)).real.sum(axis=1) / 2
    sources = found.input_power + found.drive_power + found.tube.bias_voltage * found.grid_current_dc
    sinks = network + found.plate_dissipation + found.grid_dissipation
    np.testing.assert_allclose(sinks, sources, rtol=1e-3)
