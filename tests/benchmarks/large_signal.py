"""Harmonic balance of one band against the cold run over time that reaches the same harmonics, and of thousands.

Prints the times and their ratios; nothing is asserted on time.
"""

import time
from pathlib import Path

import numpy as np

from netsim.circuit.assembly import assemble
from netsim.circuit.peaking import settings
from netsim.circuit.topology import build_ladder
from netsim.circuit.tube.triode import TubeConstants
from netsim.description.reader import read
from netsim.solvers import batch, harmonic_balance, transient

ROOT = Path(__file__).parents[2]
TUBE = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)
SUPPLY = 2600.0
ROW = 3
GATE = 0.1
MANY = 10_000


def main() -> None:
    parts = assemble(read(ROOT / "circuits" / "new-tube.toml")).parts
    tune, load, _, _ = settings(parts)
    one = parts.take(np.array([ROW]))
    ladder = build_ladder(one, tune[[ROW]], load[[ROW]])
    impedance = batch.solve(ladder, np.arange(1.0, harmonic_balance.ORDERS + 1)).plate_impedance
    began = time.perf_counter()
    repeats = 50
    for _ in range(repeats):
        found = harmonic_balance.solve(impedance, TUBE, SUPPLY)
    balanced = (time.perf_counter() - began) / repeats
    terminal = (
        batch.solve(ladder, np.arange(1.0, 11)).node_voltage[ladder.nodes[-1]] * found.plate_current[:, :10]
    )
    level = 20 * np.log10(np.abs(terminal[0] / terminal[0, 0]))
    print(
        f"one band, {one.frequency[0] / 1e6:g} MHz: balance {balanced * 1e3:.2f} ms, {found.iterations} steps"
    )
    for cycles in (80, 160, 240, 320, 400):
        began = time.perf_counter()
        spectrum = transient.solve(ladder.single(0), TUBE, SUPPLY, None, cycles=cycles)
        cold = time.perf_counter() - began
        apart = np.abs(20 * np.log10(spectrum.antenna_voltage / np.abs(terminal[0])))
        worst = apart[level >= -70].max()
        print(
            f"cold run of {cycles} cycles: {cold:.2f} s, {worst:.3f} dB apart to -70 dBc, ratio {cold / balanced:.0f}"
        )
        if worst < GATE:
            break
    thousands(parts, tune, load)


def thousands(parts, tune, load) -> None:
    """Balance many settings at once, in tune and far out of it, against all orders of each."""
    rng = np.random.default_rng(1)
    rows = rng.integers(0, len(parts), MANY)
    for words, spread in (("in tune", (1.0, 1.0)), ("mistuned", (0.7, 1.4))):
        turned = (v[rows] * rng.uniform(*spread, MANY) for v in (tune, load))
        ladder = build_ladder(parts.take(rows), *turned)
        began = time.perf_counter()
        impedance = batch.solve(ladder, np.arange(1.0, harmonic_balance.ORDERS + 1)).plate_impedance
        solved = time.perf_counter() - began
        began = time.perf_counter()
        quick = harmonic_balance.solve(impedance, TUBE, SUPPLY)
        taken = time.perf_counter() - began
        began = time.perf_counter()
        whole = harmonic_balance.solve(impedance[:1000], TUBE, SUPPLY, neglect=0.0)
        all_orders = (time.perf_counter() - began) * MANY / 1000
        apart = np.abs(quick.plate_power[:1000] / whole.plate_power - 1).max()
        print(
            f"{MANY} networks {words}: impedances {solved:.2f} s, balance {taken:.2f} s, "
            f"{(~quick.converged).sum()} without a solution; all orders of all {all_orders / taken:.1f} times as long, "
            f"plate power {apart:.1e} apart"
        )


if __name__ == "__main__":
    main()
