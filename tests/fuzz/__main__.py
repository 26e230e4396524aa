"""Runs many cases by hand: ``python -m tests.fuzz 1000 --seed 1`` prints counts, and the seed of what fails."""

import argparse
import os
import sys
from collections import Counter
from multiprocessing import get_context
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[1]))  # as pytest has it, for what the tests share

from . import cases, outcome
from .chunks import chunk

SHARES = {
    "check": 30,
    "fix": 12,
    "taps": 8,
    "design": 10,
    "compare": 10,
    "bench": 10,
    "fit": 12,
    "report": 2,
    "export": 5,
}
_CHUNK = 20


def main() -> int:
    """Run what the arguments ask for; exit status 1 if anything fails."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("count", type=int, help="how many cases")
    parser.add_argument("--seed", type=int, default=0, help="of the first; each case has the next")
    parser.add_argument("--command", choices=cases.COMMANDS, help="only this one")
    parser.add_argument("--both", action="store_true", help="with ngspice")
    parser.add_argument("--jobs", type=int, default=2, help="processes at a time")
    parser.add_argument(
        "--keep", type=Path, help="write the files of the first case into this folder, and stop"
    )
    given: Any = parser.parse_args()
    pool = [command for command, share in SHARES.items() for _ in range(share)]
    work = [
        (seed, given.command or pool[seed * 37 % len(pool)], given.both)
        for seed in range(given.seed, given.seed + given.count)
    ]
    if given.keep is not None:
        case = cases.case(*work[0][:2], both=given.both)
        given.keep.mkdir(parents=True, exist_ok=True)
        outcome.put_down(case, given.keep)
        print(*case.arguments)
        return 0
    chunks = [work[n : n + _CHUNK] for n in range(0, len(work), _CHUNK)]
    counts: Counter[tuple[str, int]] = Counter()
    failed, longest = 0, (0.0, 0, "")
    with get_context("spawn").Pool(given.jobs, maxtasksperchild=5) as processes:
        for results in processes.imap_unordered(chunk, chunks):
            for seed, command, status, found, seconds in results:
                counts[command, status] += 1
                longest = max(longest, (seconds, seed, command))
                if found:
                    failed += 1
                    print(f"seed {seed} {command}: {'; '.join(found)[:700]}", flush=True)
    for command in cases.COMMANDS:
        told = ", ".join(
            f"{count} with {status}" for (name, status), count in sorted(counts.items()) if name == command
        )
        print(f"{command:8} {told}")
    seconds, seed, command = longest
    print(
        f"{given.count} cases, {failed} failed; the longest took {seconds:.1f} s of CPU (seed {seed}, {command})"
    )
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
