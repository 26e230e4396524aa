"""Print how much faster 10,000 tap positions go in one call than in a loop over single positions.

Run by hand: ``python tests/benchmarks/coil_positions.py``. Nothing is asserted about time.
"""

import time

import numpy as np

from netsim.circuit.coil.tapped_coil import tapped_coil
from netsim.circuit.coil.winding import Solenoid, UnusedTurns, Winding

POSITIONS = 10_000
LOOPED = 500

SECTIONS = (
    Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005),
    Solenoid(turns=14.0, mean_diameter=0.052, pitch=0.0035, conductor_diameter=0.002, gap=0.012),
)
TAPS = (3.0, 4.5, 6.5, 9.0, 13.0)


def measure(unused_turns: UnusedTurns) -> None:
    """Print one line: time of the one call, of the loop (scaled up from a share of it), and their ratio."""
    winding = Winding(SECTIONS, unused_turns, TAPS)
    turns = np.linspace(0.5, winding.turns, POSITIONS)
    tapped_coil(winding, turns[:2], 7.1e6)
    start = time.perf_counter()
    together = tapped_coil(winding, turns, 7.1e6)
    at_once = time.perf_counter() - start
    some = np.linspace(0, POSITIONS - 1, LOOPED).astype(int)
    start = time.perf_counter()
    alone = [tapped_coil(winding, float(turns[index]), 7.1e6).inductance[0] for index in some]
    looped = (time.perf_counter() - start) * POSITIONS / LOOPED
    np.testing.assert_allclose(alone, together.inductance[some], rtol=1e-9)
    print(
        f"{unused_turns:12s} {at_once:7.3f} s at once, {looped:7.1f} s in a loop, ratio {looped / at_once:5.0f}"
    )


if __name__ == "__main__":
    for choice in ("strap", "progressive", "open"):
        measure(choice)
