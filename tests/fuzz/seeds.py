"""What the fuzz starts from: the shipped files and the examples as tables, and measurements made up by formulas."""

import cmath
import math
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
ANTENNA, FILTER, COLD = "antenna.s1p", "filter.s2p", "cold.s1p"
_REFERENCE = 50.0


@cache
def texts() -> dict[str, str]:
    """Return the text of every file to start from, by name."""
    found = [*sorted(ROOT.glob("circuits/*.toml")), *sorted(ROOT.glob("tests/examples/*.toml"))]
    return {path.name: path.read_text(encoding="utf-8") for path in found}


@cache
def tables() -> dict[str, dict[str, Any]]:
    """Return the same as tables, with two more: a tube by points of its curves, and measured antennas."""
    found = {name: tomllib.loads(text) for name, text in texts().items()}
    curves = tomllib.loads(texts()["new-tube-on-the-air.toml"])
    law = curves["tube"]
    curves["tube"] = {"connection": law["connection"], "curve_points": _curve_points()}
    found["curves.toml"] = curves
    measured = tomllib.loads(texts()["new-tube.toml"])
    measured["antenna"] = {"resistance": "50 ohm", "measured": ANTENNA, "filter": FILTER}
    found["measured.toml"] = measured
    cold = tomllib.loads(texts()["on-the-bench.toml"])
    del cold["measured"][0]["impedance"]
    cold["measured"][0]["file"] = COLD
    cold["operating_points"] = [{"name": "low tap", "plate_voltage": "1.6 kV", "plate_current": "400 mA"}]
    found["cold.toml"] = cold
    return found


def _curve_points() -> list[list[str]]:
    """Return points of a three-halves power law: plate and grid voltage, plate current."""
    points = []
    for plate in (500, 1500, 3000):
        for grid in (-10, 0, 15, 40):
            drive = max(grid + plate / 150, 0.0)
            points.append([f"{plate} V", f"{grid} V", f"{2.5e-3 * drive**1.5:.5g} A"])
    return points


@cache
def measurements() -> dict[str, str]:
    """Return Touchstone texts: an antenna, a filter, a cold network."""
    return {ANTENNA: _one_port(40.0), FILTER: _two_port(), COLD: _one_port(55.0)}


def _frequencies() -> list[float]:
    return [1.5e6 * 1.02**n for n in range(160)]


def _one_port(resistance: float) -> str:
    lines = ["! made up", "# Hz S RI R 50"]
    for frequency in _frequencies():
        turn = 3 * math.log(frequency / 1e6)
        impedance = resistance + 10j * math.sin(turn)
        reflection = (impedance - _REFERENCE) / (impedance + _REFERENCE)
        lines.append(f"{frequency:.6g} {reflection.real:.6g} {reflection.imag:.6g}")
    return "\n".join(lines) + "\n"


def _two_port() -> str:
    """Return a line with a small loss, which passes everything and reflects little."""
    lines = ["# MHz S MA R 50"]
    for frequency in _frequencies():
        through = 0.98 * cmath.exp(-2j * math.pi * frequency * 3e-9)
        angle = math.degrees(cmath.phase(through))
        pair = f"{abs(through):.6g} {angle:.6g}"
        lines.append(f"{frequency / 1e6:.6g} 0.05 0 {pair} {pair} 0.05 0")
    return "\n".join(lines) + "\n"
