"""Print what starting up, a whole ``check`` and the proofs of remedies cost, as ratios of one run. Nothing is asserted.

Run by hand: ``.venv/bin/python tests/benchmarks/startup.py``. Ratios of processor time, children included, each
of the shortest of several runs of whole processes, taken in turns so that a busy machine slows all alike:

* ``check --json`` of ten bands by three frequencies, both engines, against importing the libraries that
  any such program needs and building their unit registry: at most 1.6 is wanted;
* ``check`` with its tables against the same;
* ``report`` of the demonstration against ``check`` of the same file: at most 3 is wanted;
* what the proofs of remedies add to the ``check`` of the demonstration: at most 0.3 is wanted.
"""

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
DEMONSTRATION = ROOT / "circuits" / "new-tube.toml"
RUNS = 7
LIBRARIES = (
    "import numpy, pint; from pydantic import BaseModel; pint.UnitRegistry(); "
    "import PySpice.Spice.NgSpice.Shared, skrf.network"
)
ALONE = (
    "import sys; from netsim import read; from netsim.analysis import analyse; "
    "from netsim.advice.remedies import with_remedies; found = analyse(read(sys.argv[1]))"
)
PROVEN = "; with_remedies(found)"
BANDS = (1.8, 3.5, 5.3, 7.0, 10.1, 14.0, 18.1, 21.0, 24.9, 28.0)


def ten_bands() -> str:
    """Write the demonstration with ten bands of three frequencies, nothing assumed that would be sampled."""
    text = DEMONSTRATION.read_text(encoding="utf-8")
    head = text[: text.index("[[bands]]")].replace("unloaded_q =", "q = 200\nunloaded_q =")
    bands = [
        f'[[bands]]\nname = "{f:g} MHz"\ncoil = "{27.5 / f:.3g} uH"\n'
        f'frequencies = ["{f:g} MHz", "{f * 1.01:g} MHz", "{f * 1.02:g} MHz"]\n'
        for f in BANDS
    ]
    return head + "\n".join(bands)


def duration(command: list[str]) -> float:
    """Run a command as a whole process; the processor's time that it takes [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(
        command, capture_output=True, cwd=ROOT, env={**os.environ, "PYTHONWARNINGS": "ignore"}
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(command)} failed:\n{done.stderr.decode()}")
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def shortest(commands: dict[str, list[str]]) -> dict[str, float]:
    """Run all commands in turns and keep the shortest run of each [s]."""
    runs = [{name: duration(command) for name, command in commands.items()} for _ in range(RUNS)]
    return {name: min(run[name] for run in runs) for name in commands}


def main() -> None:
    """Measure and print."""
    program = [sys.executable, "-m", "netsim"]
    with tempfile.TemporaryDirectory() as folder:
        file, page = str(Path(folder, "ten-bands.toml")), str(Path(folder, "page.html"))
        Path(file).write_text(ten_bands(), encoding="utf-8")
        took = shortest(
            {
                "libraries alone": [sys.executable, "-c", LIBRARIES],
                "check --json, ten bands": [*program, "check", "--json", file],
                "check, ten bands": [*program, "check", file],
                "analysis, demonstration": [sys.executable, "-c", ALONE, str(DEMONSTRATION)],
                "and its remedies": [sys.executable, "-c", ALONE + PROVEN, str(DEMONSTRATION)],
                "check, demonstration": [*program, "check", str(DEMONSTRATION)],
                "report, demonstration": [*program, "report", str(DEMONSTRATION), "-o", page],
            }
        )
    for name, seconds in took.items():
        print(f"{name:26s} {seconds:6.3f} s")
    base = took["libraries alone"]
    print(f"check --json / libraries   {took['check --json, ten bands'] / base:6.2f}   (wanted: at most 1.6)")
    print(f"check / libraries          {took['check, ten bands'] / base:6.2f}")
    ratio = took["report, demonstration"] / took["check, demonstration"]
    print(f"report / check             {ratio:6.2f}   (wanted: at most 3)")
    added = took["and its remedies"] - took["analysis, demonstration"]
    share = added / (took["check, demonstration"] - added)
    print(f"remedies / rest of check   {share:6.2f}   (wanted: at most 0.3)")


if __name__ == "__main__":
    main()
