"""Print how fast the batch solver is against its bound and against the others, and a fix search against one check.

Run by hand, on one core: ``OPENBLAS_NUM_THREADS=1 taskset -c 0 python tests/benchmarks/batch.py``. Nothing is
asserted about time; all must agree.

All voltages and currents of 8 elements at 10 orders. The bound is one complex multiply-add for each element,
network and order, on arrays of the same size.
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
sys.path.insert(0, str(Path(__file__).parent))
from samples import network
from solvers import one_circuit_each

from netsim.advice.fix.fix import fix
from netsim.analysis import analyse
from netsim.circuit.elements import ComplexArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.topology import build_ladder
from netsim.description.reader import read
from netsim.solvers import batch, spice

ELEMENTS, REPEATS = 8, 5
ORDERS = np.arange(1.0, 11.0)
CIRCUITS = Path(__file__).parent.parent.parent / "circuits"


def ladders(count: int) -> Ladder:
    """Pi of eight elements that carry current: the open ones are left away."""
    parts = network(
        coil=np.linspace(4e-6, 6e-6, count),
        coil_q=250.0,
        output_capacitance=12e-12,
        blocking_capacitance=1e-9,
        plate_choke=2e-4,
        plate_choke_capacitance=1.5e-12,
    )
    whole = build_ladder(parts, np.array([1.1e-10]), np.array([5.6e-10]))
    names = {branch.name for branch in whole.single(0).branches}
    chosen = Ladder(whole.frequency, tuple(branch for branch in whole.branches if branch.name in names))
    assert len(chosen.branches) == ELEMENTS
    return chosen


def element_wise(whole: Ladder) -> ComplexArray:
    """Give the plate impedance by scikit-rf's own elements, cascaded one by one for each network."""
    from skrf import Frequency
    from skrf.media import DefinedGammaZ0

    seen = []
    for single in whole.singles():
        frequency = Frequency.from_f(float(single.frequency[0]) * ORDERS, unit="Hz")
        line = DefinedGammaZ0(frequency, z0=50)
        chain: Any = None
        for branch in single.branches[:-1]:
            kind, element = type(branch.element).__name__, branch.element
            if kind == "Capacitor":
                part = line.capacitor(element.capacitance.item())
                part = line.shunt_capacitor(element.capacitance.item()) if branch.to is None else part
            else:
                part = line.inductor(element.inductance.item())
                part = line.shunt_inductor(element.inductance.item()) if branch.to is None else part
            chain = part if chain is None else chain**part
        reflection = (chain ** line.resistor(0) ** line.match()).s[:, 0, 0]
        seen.append(50 * (1 + reflection) / (1 - reflection))
    return np.array(seen)


def best(work: Callable[[], Any]) -> float:
    """Shortest of several runs [s]."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def bound(count: int) -> float:
    """Seconds for one complex multiply-add per element, network and order."""
    shape = count, len(ORDERS)
    draw = np.random.default_rng(1)
    a, b, c = (draw.normal(size=shape) + 1j * draw.normal(size=shape) for _ in range(3))
    out = np.empty_like(a)

    def work() -> None:
        for _ in range(ELEMENTS):
            np.multiply(a, b, out=out)
            np.add(out, c, out=out)

    return best(work)


def main() -> None:
    """Print rates and ratios."""
    few = ladders(50)
    reference = batch.solve(few, ORDERS).plate_impedance
    np.testing.assert_allclose(spice.solve(few, ORDERS).plate_impedance, reference, rtol=1e-9)
    np.testing.assert_allclose(one_circuit_each(few), reference[:, :1], rtol=1e-6)
    by_circuit = best(lambda: one_circuit_each(few)) / 50
    by_cascade = best(lambda: element_wise(few)) / 50
    print(f"scikit-rf, element by element       {1 / by_cascade:10.0f} networks/s")
    print(f"PySpice, one circuit per network    {1 / by_circuit:10.0f} networks/s")
    for count in (200, 1_000, 20_000):
        whole = ladders(count)
        spent = best(lambda whole=whole: batch.solve(whole, ORDERS)) / count
        limit = bound(count) / count
        print(
            f"batch of {count:6d}, every node and branch {1 / spent:10.0f} networks/s: {by_cascade / spent:6.0f} times "
            f"scikit-rf, {by_circuit / spent:6.0f} times PySpice, {spent / limit:5.1f} times the bound"
        )
    amplifier = read(CIRCUITS / "new-tube.toml")
    fix(amplifier)
    check = best(lambda: analyse(amplifier))
    searched = best(lambda: fix(amplifier))
    print(f"fix of the demo {searched:.3f} s, one check {check:.3f} s: ratio {searched / check:.1f}")


if __name__ == "__main__":
    main()
