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


def seconds(*arguments: str) -> float:
    """Give the least time of some runs of the command, in a process of its own."""
    command = [sys.executable, "-m", "netsim", *arguments]
    found = []
    for _ in range(RUNS):
        began = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        found.append(time.perf_counter() - began)
    return min(found)


def main() -> None:
    print(f"{FILE.name}: 7 unknowns, 12 readings, 4 bands, 10 frequencies; the least of {RUNS} runs each")
    check = seconds("check", str(FILE), "--samples", "1", "--json")
    sampled = seconds("check", str(FILE), "--json")
    fitted = seconds("fit", str(FILE), "--json")
    print(f"check, limits left out      {check:6.2f} s")
    print(f"check, 4096 amplifiers      {sampled:6.2f} s   adds {sampled / check - 1:5.2f} of it")
    print(
        f"fit                         {fitted:6.2f} s   ratio {fitted / check:5.2f}, to a check with limits {fitted / sampled:5.2f}"
    )


if __name__ == "__main__":
    main()
