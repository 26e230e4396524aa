"""Sampling and fitting beside one check of the same file.

Prints times and ratios; nothing is asserted on time. Run ``.venv/bin/python tests/benchmarks/bench.py``.
"""

import os
import sys
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as in the command

import subprocess

FILE = Path(__file__).parents[2] / "circuits" / "on-the-bench.toml"
RUNS = 5


def seconds(*arguments: str) -> tuple[float, float]:
    """Give the least time of some runs of the command in a process of its own, by the clock and of processors."""
    command = [sys.executable, "-m", "netsim", *arguments]
    clock, processors = [], []
    for _ in range(RUNS):
        began, before = time.perf_counter(), os.times()
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        after = os.times()
        clock.append(time.perf_counter() - began)
        processors.append(after[2] + after[3] - before[2] - before[3])
    return min(clock), min(processors)


def main() -> None:
    """Print the times."""
    print(f"{FILE.name}: 7 unknowns, 12 readings, 4 bands, 9 frequencies; the least of {RUNS} runs each")
    check = seconds("check", str(FILE), "--samples", "1", "--json")
    sampled = seconds("check", str(FILE), "--json")
    fitted = seconds("fit", str(FILE), "--json")
    for n, what in enumerate(("by the clock", "of processors")):
        print(f"{what}:")
        print(f"  check, limits left out  {check[n]:6.2f} s")
        print(f"  check, 4096 amplifiers  {sampled[n]:6.2f} s   adds {sampled[n] / check[n] - 1:5.2f} of it")
        print(f"  fit                     {fitted[n]:6.2f} s   ratio {fitted[n] / check[n]:5.2f}")


if __name__ == "__main__":
    main()
