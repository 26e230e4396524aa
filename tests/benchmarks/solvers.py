"""Print how fast the solvers are against each other on one pi at ten orders, in one run.

Run by hand: ``python tests/benchmarks/solvers.py``. Nothing is asserted about time; all must agree.
"""

import sys
import time
from functools import cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
from samples import network

from netsim.circuit.elements import Capacitor, ComplexArray, DampedInductor, Inductor
from netsim.circuit.ladder import Ladder
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch, spice, two_port
from netsim.solvers.library import find_library
from netsim.solvers.ngspice import Ngspice

ORDERS = np.arange(1.0, 11.0)


def ladders(count: int) -> Ladder:
    parts = network(
        coil=np.linspace(4e-6, 6e-6, count),
        coil_q=250.0,
        output_capacitance=12e-12,
        blocking_capacitance=1e-9,
        plate_choke=2e-4,
        suppressor_inductance=6e-8,
        suppressor_resistance=47.0,
    )
    return build_ladder(parts, np.array([1.1e-10]), np.array([5.6e-10]))


def one_by_one(whole: Ladder) -> ComplexArray:
    """Give every network to the two-port solver alone: a cascade, element by element."""
    return np.concatenate([two_port.solve(single, ORDERS).plate_impedance for single in whole.singles()])


@cache
def in_this_process() -> Ngspice:
    """Load the library here, where no process stands between."""
    return Ngspice(find_library())


def one_circuit_each(whole: Ladder) -> ComplexArray:
    """Build a PySpice circuit for every network, as its manual shows, and sweep it over the orders.

    Resistances are those of the working frequency throughout, so only the first order is right.
    """
    from PySpice.Spice.Netlist import Circuit

    seen = []
    for single in whole.singles():
        lowest = single.frequency.item()
        circuit = Circuit("one")
        circuit.I("in", circuit.gnd, "plate", "dc 0 ac 1")
        for branch in single.branches:
            start, end = branch.node, branch.to or "0"
            element, name = branch.element, branch.name
            if isinstance(element, Capacitor):
                circuit.C(name, start, end, element.capacitance.item())
            elif isinstance(element, Inductor):
                circuit.L(name, start, f"{name}_r", element.inductance.item())
                circuit.R(name, f"{name}_r", end, max(element.resistance.item(), 1e-9))
            elif isinstance(element, DampedInductor):
                circuit.L(name, start, end, element.inductance.item())
                circuit.R(name, start, end, element.resistance.item())
            else:
                circuit.R(name, start, end, element.resistance.item())
        netlist = f"{circuit}.options noopac\n.ac lin 10 {lowest!r} {10 * lowest!r}\n.end\n"
        seen.append(in_this_process().run_alone(netlist, ["plate"])["plate"])
    return np.array(seen)[:, :1]


def main() -> None:
    """Time every way on a number of networks that suits it; print rates and ratios."""
    ways = {
        "batch, all networks at once": (lambda w: batch.solve(w, ORDERS).plate_impedance, 20_000),
        "two-port, all networks at once": (lambda w: two_port.solve(w, ORDERS).plate_impedance, 2_000),
        "two-port, one network at a time": (one_by_one, 100),
        "ngspice, orders as sub-networks": (lambda w: spice.solve(w, ORDERS).plate_impedance, 100),
        "ngspice, working frequency alone": (lambda w: spice.solve(w, ORDERS[:1]).plate_impedance, 400),
        "ngspice, one PySpice circuit each": (one_circuit_each, 100),
    }
    rates = {}
    for name, (solve, count) in ways.items():
        whole = ladders(count)
        solve(ladders(2))
        start = time.perf_counter()
        seen = solve(whole)
        rates[name] = count / (time.perf_counter() - start)
        np.testing.assert_allclose(
            seen, batch.solve(whole, ORDERS).plate_impedance[:, : seen.shape[1]], rtol=1e-6
        )
    slowest = min(rates.values())
    for name, value in rates.items():
        print(f"{name:34s} {value:10.0f} networks/s, ratio {value / slowest:8.1f}")


if __name__ == "__main__":
    main()
