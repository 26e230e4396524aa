"""Variants of the plain example, and findings made to order."""

import re
from pathlib import Path
from typing import Any

from netsim.analysis import Analysis, analyse
from netsim.description.reader import read
from netsim.verdict.result import Finding

NO_CHOKES_NO_GUARDS = (
    r"\[network\.suppressor\].*?\n\n",
    r"\[network\.plate_choke\].*?\n\n",
    r"\[network\.blocking_capacitor\].*?\n\n",
    r"\[network\.output_choke\].*?\n\n",
    r"\[network\.band_switch\].*?\n\n",
    r"output_capacitance.*?\n",
)
"""Patterns of all parts that may be absent."""


def variant(plain: Path, folder: Path, **changes: str) -> Analysis:
    """Solve the plain example with keys set to other values everywhere they stand, without ngspice."""
    text = plain.read_text(encoding="utf-8")
    for key, value in changes.items():
        text, count = re.subn(rf"(?m)^{key} = .*$", f"{key} = {value}", text)
        assert count, key
    return solved_text(text, folder)


def without(plain: Path, folder: Path, *patterns: str) -> Analysis:
    """Solve the plain example with stretches of its text taken away."""
    text = plain.read_text(encoding="utf-8")
    for pattern in patterns:
        text, count = re.subn(pattern, "", text, flags=re.DOTALL)
        assert count, pattern
    return solved_text(text, folder)


def solved_text(text: str, folder: Path) -> Analysis:
    """Solve an amplifier given as text."""
    path = folder / "variant.toml"
    path.write_text(text, encoding="utf-8")
    return analyse(read(path), engine="two-port")


def finding(**given: Any) -> Finding:
    """Make a finding; what is not given is of a coil that is too hot on 40 m."""
    values: dict[str, Any] = {
        "code": "part_power",
        "state": "over",
        "case": "matched",
        "band": "40 m",
        "frequency_hertz": 7.1e6,
        "part": "coil",
        "quantity": "loss",
        "value": 110.0,
        "limit": 100.0,
        "unit": "W",
        "used_fraction": 1.1,
        "message": "a message",
        "why": "a reason",
        "fix": "a remedy",
        "line": 7,
    }
    return Finding(**{**values, **given})
