"""Every antenna of a circle at once, against the same antennas one at a time by scikit-rf and by PySpice.

Prints the times and their ratios; nothing is asserted on time. The one-at-a-time runs do a sample of the
loads and are scaled up. Run ``.venv/bin/python tests/benchmarks/any_antenna.py [loads to sample]``.
"""

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from netsim.circuit.assembly import assemble
from netsim.circuit.elements import Termination
from netsim.circuit.peaking import settings
from netsim.circuit.reflection import impedance_of, loads_within
from netsim.circuit.topology import build_ladder
from netsim.description.reader import read
from netsim.solvers import batch, spice, two_port
from netsim.verdict.any_antenna import SAMPLES, on_all_loads
from netsim.verdict.stress import across, heat, peak, placements, reactive_power_of

ROOT = Path(__file__).parents[2]
ORDERS = np.arange(1.0, 11)
BANDS = 10


def stresses(parts, stage, ladder, solution, with_peaks):
    """Work out the rms stress of all parts, and peaks where asked for, the plain way."""
    drive = stage.plate_current(solution.plate_impedance[:, 0]).drive
    for place in placements(parts).values():
        branch = ladder[place.branch]
        voltage, current = across(branch, solution) * drive, solution.branch_current[place.branch] * drive
        np.sqrt((np.abs(current) ** 2).sum(axis=1) / 2)
        heat(branch, current, voltage, ORDERS)
        reactive_power_of(branch, current, ladder.frequency, ORDERS)
        if with_peaks:
            peak(voltage, np.zeros(len(parts)), SAMPLES)


def one_at_a_time(solver, parts, stage, with_peaks):
    """Work out settings, solution and stress of each network by itself."""
    for row in range(len(parts)):
        single = parts.take(np.array([row]))
        tune, load, _, _ = settings(single)
        ladder = build_ladder(single, tune, load)
        stresses(single, stage.take(np.array([row])), ladder, solver.solve(ladder, ORDERS), with_peaks)


def clocked(work):
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def main(sample: int) -> None:
    assembly = assemble(read(ROOT / "circuits" / "new-tube-pi-l.toml"))
    assembly = assembly.take(np.arange(BANDS) % len(assembly))
    parts = assembly.parts
    reflection = loads_within(3.0)
    loads = len(reflection)
    impedance = np.tile(impedance_of(reflection, 50.0), BANDS)[:, np.newaxis]
    termination = Termination(impedance, np.full(BANDS * loads, 50.0))
    every = replace(parts.take(np.repeat(np.arange(BANDS), loads)), termination=termination)
    owner = np.repeat(np.arange(BANDS), loads)
    chosen = np.linspace(0, len(every) - 1, sample).astype(int)
    some, stage = every.take(chosen), assembly.stage.take(owner[chosen])
    print(f"{loads} loads by {BANDS} bands by {len(ORDERS)} orders, settings and stress of all parts")

    def rms_alone():
        tune, load, _, _ = settings(every)
        ladder = build_ladder(every, tune, load)
        stresses(every, assembly.stage.take(owner), ladder, batch.solve(ladder, ORDERS), False)

    def some_of(rows):
        return termination.take(np.ravel(rows[:, np.newaxis] * loads + np.arange(loads)), len(every))

    def drawn(impedance, rows):
        return assembly.stage.take(rows).plate_current(impedance[:, 0])

    together = min(clocked(rms_alone) for _ in range(5))
    whole = min(clocked(lambda: on_all_loads(assembly, some_of, loads, 3.0, drawn)) for _ in range(5))
    print(f"all at once, rms              {together:9.3f} s")
    print(f"all at once, with worst peaks {whole:9.3f} s")
    for name, solver in (("scikit-rf", two_port), ("PySpice", spice)):
        one_at_a_time(solver, some.take(np.arange(2)), stage, False)  # imports
        for with_peaks, fast in ((False, together), (True, whole)):
            alone = clocked(lambda s=solver, w=with_peaks: one_at_a_time(s, some, stage, w))
            scaled = alone / sample * len(every)
            words = "with peaks" if with_peaks else "rms"
            print(f"{name} one at a time, {words:10} {scaled:9.1f} s   ratio {scaled / fast:6.0f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
