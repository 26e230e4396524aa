"""Ladders through the engine's process. Expected values come from the batch solver."""

import os
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from samples import network

from netsim.circuit.elements import Branch, Inductor
from netsim.circuit.ladder import Ladder
from netsim.circuit.topology import build_ladder
from netsim.errors import EngineFailedError
from netsim.solvers import batch, engine_process, spice
from netsim.solvers.agreement import worst_relative

ORDERS = np.arange(1.0, 11.0)


def pi(coil: float = 5e-6, **values: float) -> Ladder:
    return build_ladder(network(coil=coil, **values), np.array([1e-10]), np.array([5e-10]))


def is_right(ladder: Ladder, orders: np.ndarray = ORDERS) -> bool:
    return bool(worst_relative(spice.solve(ladder, orders), batch.solve(ladder, orders)).max() < 1e-9)


def test_two_orders_are_refused():
    with pytest.raises(EngineFailedError, match="n not 2"):
        spice.solve(pi(), np.array([1.0, 2.0]))


@pytest.mark.parametrize("orders", [[2.0, 3.0, 4.0], [1.0, 2.5, 4.0], [0.5]])
def test_only_whole_orders_from_one(orders):
    with pytest.raises(EngineFailedError, match="orders must be 1 to n"):
        spice.solve(pi(), np.array(orders))


@pytest.mark.parametrize("count", [1, 3, 10])
def test_other_counts_are_solved(count):
    assert is_right(pi(), np.arange(1.0, count + 1))


def test_nodes_between_capacitors_have_no_dc_path():
    ladder = pi(blocking_capacitance=1e-9, suppressor_inductance=5e-8, suppressor_resistance=47.0)
    assert "tank" in ladder.nodes
    assert is_right(ladder)


def test_currents_of_all_branches_are_read():
    ladder = pi(output_capacitance=1e-11, suppressor_inductance=5e-8, suppressor_resistance=47.0)
    by_spice, by_batch = spice.solve(ladder, ORDERS), batch.solve(ladder, ORDERS)
    for name in ("output_capacitance", "suppressor", "tune_capacitor", "coil", "load_capacitor", "antenna"):
        np.testing.assert_allclose(by_spice.branch_current[name], by_batch.branch_current[name], rtol=1e-9)


# R = 0 silently becomes a milliohm.
def test_zero_resistance_is_a_wire():
    coil = Branch("coil", Inductor(np.array([5e-6]), np.array([0.0])), "tank", "output")
    ladder = pi()
    branches = tuple(replace(coil, node=b.node) if b.name == "coil" else b for b in ladder.branches)
    assert is_right(replace(ladder, branches=branches))


def test_zero_resistance_that_cannot_be_left_out_is_refused():
    with pytest.raises(EngineFailedError, match="1 milliohm"):
        spice.solve(pi(antenna_resistance=0.0), ORDERS)
    with pytest.raises(EngineFailedError, match="1 milliohm"):
        spice.solve(pi(suppressor_inductance=5e-8, suppressor_resistance=0.0), ORDERS)


@pytest.mark.parametrize("orders", [1, 3, 10])
def test_many_networks(orders):
    """More than are sent ahead, of several frequencies, some parts left open."""
    networks = 2 * engine_process.AHEAD + 3
    draw = np.random.default_rng(5)
    parts = network(
        coil=draw.uniform(3e-6, 8e-6, networks),
        frequency=draw.choice([3.5e6, 7.1e6, 14.2e6], networks),
        load_padding=draw.choice([0.0, 1e-10], networks),
        plate_choke=draw.choice([np.inf, 1e-4], networks),
    )
    ladder = build_ladder(parts, draw.uniform(3e-11, 3e-10, networks), draw.uniform(2e-10, 2e-9, networks))
    assert is_right(ladder, np.arange(1.0, orders + 1))


def test_one_engine_for_all():
    spice.start()
    first = spice._running
    assert is_right(pi())
    assert spice._running is first
    assert spice.version().isdigit()
    assert "ngspice" in spice.library()


def test_an_engine_that_ended_while_idle_is_replaced():
    assert is_right(pi())
    first = spice._running
    assert first is not None
    first._process.kill()
    first._process.wait()
    assert is_right(pi())
    assert spice._running is not first


def test_threads_do_not_mix():
    ladders = [pi(coil=(2 + k) * 1e-6) for k in range(8)]
    with ThreadPoolExecutor(4) as pool:
        assert all(pool.map(is_right, ladders * 6))


def test_a_netlist_that_cannot_be_written_leaves_nothing_behind():
    """The first network is on its way to the engine when the second is refused."""
    parts = network(
        coil=np.full(2, 5e-6), frequency=np.array([7e6, 8e6]), antenna_resistance=np.array([50.0, 0.0])
    )
    ladder = build_ladder(parts, np.full(2, 1e-10), np.full(2, 5e-10))
    with pytest.raises(EngineFailedError, match="1 milliohm"):
        spice.solve(ladder, ORDERS)
    assert is_right(pi())


def test_a_refused_netlist_leaves_nothing_behind():
    with pytest.raises(EngineFailedError, match="did not solve the circuit"):
        spice.transient("title\nx1 a 0 nowhere\n.tran 1u 1m\n.end\n", 1e-6, 1e-3, ["a"])
    assert is_right(pi())


def test_a_transient_that_ends_early_is_no_transient():
    netlist = "title\nv1 a 0 1\nr1 a 0 50\n.tran 1u 1m\n.end\n"
    assert spice.transient(netlist, 1e-6, 1e-3, ["a"])["a"] == pytest.approx(1.0)
    with pytest.raises(EngineFailedError, match="to its end"):
        spice.transient(netlist, 1e-6, 2e-3, ["a"])
    with pytest.raises(EngineFailedError, match=r"tran\d+.b not found"):
        spice.transient(netlist, 1e-6, 1e-3, ["b"])


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")
@pytest.mark.filterwarnings("ignore:.*multi-threaded.*fork:DeprecationWarning")
def test_a_forked_process_has_an_engine_of_its_own():
    """Also if another thread was solving at that moment: the lock's copy is never released there."""
    assert is_right(pi())
    with spice._lock:
        child = os.fork()
        if child == 0:
            status = 1
            try:
                status = 0 if is_right(pi()) else 2
                spice._end()
            finally:
                os._exit(status)
    waiting: list[int] = []
    thread = threading.Thread(target=lambda: waiting.append(os.waitpid(child, 0)[1]))
    thread.start()
    thread.join(60)
    assert waiting == [0]
    assert is_right(pi())
