"""Memory of whole commands on the largest files that the reader takes."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from samples import edited

MOST_MEGABYTES = 450
MEASURED = """
import re, sys
from netsim.__main__ import main
try:
    main()
finally:
    print(re.search(r"VmHWM:\\s+([0-9]+)", open("/proc/self/status").read())[1], file=sys.stderr)
"""
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="a process reads its memory from /proc")


def bands(text: str, turns: tuple[float, ...] = ()) -> str:
    """Write 50 bands of 20 frequencies, the most that is solved, in the place of a file's own."""
    head = text.partition("[[bands]]")[0]
    for number, start in enumerate(np.geomspace(1.8, 28, 50)):
        each = ", ".join(f'"{start * (1 + 0.0015 * k):.5f} MHz"' for k in range(20))
        coil = f"coil_turns = {turns[number]}" if turns else f'coil = "{27 / start:.4g} uH"'
        head += f'[[bands]]\nname = "b{number}"\nfrequencies = [{each}]\n{coil}\n\n'
    return head


def winding(text: str) -> str:
    """Write 300 turns with 100 contacts, all beyond the tap shorted one by one."""
    contacts = np.linspace(2.5, 300, 100).round(3).tolist()
    coil = (
        f'[network.coil]\nunloaded_q = 250\nunused_turns = "progressive"\ntaps = {contacts}\n'
        '[[network.coil.winding]]\nkind = "solenoid"\nturns = 300\nmean_diameter = "66 mm"\npitch = "2 mm"\n'
        'conductor_diameter = "1.2 mm"\n\n'
    )
    text = re.sub(r"\[network\.coil\].*?(?=\[network\.output_choke\])", coil, text, flags=re.DOTALL)
    return bands(text, tuple(contacts[:50]))


def limited(text: str) -> str:
    return bands(
        text.replace('stray = "5 pF"', 'stray = "5 pF +- 2 pF"').replace(
            'plate_current = "640 mA"', 'plate_current = "640 mA +- 3 %"'
        )
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "build", "options"),
    [
        ("old-tubes.toml", bands, ["--swr", "1.5"]),
        ("old-tubes.toml", bands, ["--swr", "100"]),
        ("old-tubes.toml", limited, ["--swr", "2"]),
        ("new-tube.toml", winding, []),
    ],
)
def test_no_file_takes_more_memory_than_a_small_machine_has(circuits, tmp_path, name, build, options):
    path = tmp_path / "large.toml"
    path.write_text(build((circuits / name).read_text(encoding="utf-8")))
    assert used(["check", str(path), *options]) < MOST_MEGABYTES


def test_the_measure_of_memory_measures(circuits, tmp_path, plain):
    """What the slow tests rest on: a file of two frequencies takes some tens of megabytes."""
    text = edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0"))
    (tmp_path / "small.toml").write_text(text)
    assert 30 < used(["check", str(tmp_path / "small.toml"), "--band", "20 m", "--engine", "two-port"]) < 250


def used(arguments: list[str]) -> float:
    """Run the command to its end, and return the most memory that its process had at a time [MB].

    The process reads it itself: what ``wait4`` tells of a child begins with the memory of its parent.
    """
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, *arguments],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert done.returncode in (0, 1), done.stderr
    return int(done.stderr.split()[-1]) / 1024
