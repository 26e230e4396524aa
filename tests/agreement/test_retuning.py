"""Antennas that are not matched: re-tuned in closed form, checked by ngspice and scikit-rf."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from samples import hung_on

from netsim.circuit.assembly import assemble
from netsim.circuit.elements import Termination
from netsim.circuit.peaking import settings as tuned
from netsim.circuit.reflection import impedance_of, loads_within
from netsim.circuit.topology import build_ladder
from netsim.description.reader import read
from netsim.solvers import batch, spice, two_port
from netsim.solvers.agreement import TOLERANCE, worst_relative
from netsim.verdict.any_antenna import on_all_loads

NAMES = ["new-tube.toml", "new-tube-pi-l.toml", "old-tubes.toml"]
ORDERS = np.arange(1.0, 11)


def pulse(assembly):
    return lambda impedance, owner: assembly.stage.take(owner).plate_current(impedance[:, 0])


def on_random_loads(circuits, name, seed, swr=5.0):
    """Every network of an amplifier on an antenna of its own, other impedances at orders 2 and 3."""
    assembly = assemble(read(circuits / name))
    rng = np.random.default_rng(seed)
    count = len(assembly.parts)
    outer = (swr - 1) / (swr + 1)
    reflection = (
        outer * np.sqrt(rng.uniform(0, 1, (count, 3))) * np.exp(2j * np.pi * rng.uniform(0, 1, (count, 3)))
    )
    termination = Termination(impedance_of(reflection, 50.0), np.full(count, 50.0))
    return assembly, replace(assembly.parts, termination=termination)


@settings(max_examples=6)
@given(name=st.sampled_from(NAMES), seed=st.integers(0, 2**31))
def test_retuned_at_random_loads_by_ngspice(circuits, name, seed):
    """Cross-solver: what the closed form calls matched shows its plate load in ngspice AC, all else agrees."""
    assembly, parts = on_random_loads(circuits, name, seed)
    tune, load, tune_needed, load_needed = tuned(parts)
    ladder = build_ladder(parts, tune, load)
    found = spice.solve(ladder, ORDERS)
    matched = (tune == tune_needed) & (load == load_needed)
    impedance = found.plate_impedance[:, 0]
    np.testing.assert_allclose(impedance[matched], assembly.stage.plate_load[matched], rtol=1e-7)
    for other in (two_port, batch):
        assert worst_relative(found, other.solve(ladder, ORDERS)).max() < TOLERANCE
    records = on_all_loads(assembly, hung_on(parts.termination, 1), 1, None, pulse(assembly))
    # A setting just outside a stop may still come within a thousandth of the plate load.
    near = np.abs(impedance - assembly.stage.plate_load) <= 1e-3 * assembly.stage.plate_load
    np.testing.assert_array_equal(records.matched[:, 0], near)
    np.testing.assert_allclose(records.plate_impedance[:, 0], impedance, rtol=1e-7)


@settings(max_examples=10)
@given(name=st.sampled_from(NAMES), seed=st.integers(0, 2**31))
def test_power_reaches_the_antenna(circuits, name, seed):
    """Derived: power into the plate is what antenna and lossy parts take, at every order."""
    _, parts = on_random_loads(circuits, name, seed)
    tune, load, _, _ = tuned(parts)
    ladder = build_ladder(parts, tune, load)
    solution = batch.solve(ladder, ORDERS)
    taken = np.zeros((len(parts), 10))
    for branch in ladder.branches:
        far = 0 if branch.to is None else solution.node_voltage[branch.to]
        across = solution.node_voltage[branch.node] - far
        taken += (across * np.conj(solution.branch_current[branch.name])).real / 2
    np.testing.assert_allclose(taken, solution.plate_impedance.real / 2, rtol=1e-6, atol=1e-12)
    antenna = np.abs(solution.branch_current["antenna"]) ** 2 * parts.antenna_delivery(ORDERS) / 2
    assert (antenna <= solution.plate_impedance.real / 2 * (1 + 1e-9)).all()


def test_no_setting_on_a_grid_gives_more_output(circuits):
    """Derived: of loads that cannot be matched none gives more output anywhere on a grid of settings.

    Up to the share an operator gives up for more load capacitance (5 %), and the grid's own coarseness.
    """
    assembly = assemble(read(circuits / "new-tube-pi-l.toml"))
    rows = np.array([13])
    parts = assembly.parts.take(rows)
    reflection = loads_within(3.0, 24, 3)
    loads = len(reflection)
    termination = Termination(impedance_of(reflection, 50.0)[:, np.newaxis], np.full(loads, 50.0))
    one = assembly.take(rows)
    found = on_all_loads(one, hung_on(termination, loads), loads, 3.0, pulse(one))
    lost = np.flatnonzero(~found.matched[0])
    assert lost.size
    steps = 60
    tunes = np.geomspace(float(parts.tune_minimum[0]), float(parts.tune_maximum[0]), steps)
    settings_ = np.geomspace(float(parts.load_minimum[0]), float(parts.load_maximum[0]), steps)
    grid = [axis.ravel() for axis in np.meshgrid(tunes, settings_)]
    for load in lost:
        every = parts.take(np.zeros(steps * steps, dtype=int))
        one = Termination(np.full((steps * steps, 1), found.impedance[0, load]), np.full(steps * steps, 50.0))
        solution = batch.solve(build_ladder(replace(every, termination=one), *grid), np.ones(1))
        impedance = solution.plate_impedance[:, 0]
        scale = np.minimum(1, assembly.stage.plate_load[rows] / np.abs(impedance))
        current = (
            scale
            * assembly.stage.fundamental_current_peak[rows]
            * np.abs(solution.branch_current["antenna"][:, 0])
        )
        output = current**2 * found.impedance[0, load].real / 2
        assert output.max() <= found.output_power[0, load] / (1 - 0.05) * 1.001


@pytest.mark.parametrize("name", NAMES)
def test_area_of_the_unmatched_region(circuits, name):
    """Derived: the weighted share of 576 loads is the share of 20,000 random ones, evenly over the disc."""
    assembly = assemble(read(circuits / name))
    one = assembly.take(np.array([len(assembly) - 1]))
    rng = np.random.default_rng(5)
    random = 0.5 * np.sqrt(rng.uniform(0, 1, 20_000)) * np.exp(2j * np.pi * rng.uniform(0, 1, 20_000))
    shares = []
    for reflection in (loads_within(3.0), random):
        impedance = impedance_of(reflection, 50.0)[:, np.newaxis]
        termination = Termination(impedance, np.full(len(reflection), 50.0))
        found = on_all_loads(one, hung_on(termination, len(reflection)), len(reflection), 3.0, pulse(one))
        shares.append(found)
    assert shares[0].unmatched_share[0] == pytest.approx((~shares[1].matched).mean(), abs=0.05)
