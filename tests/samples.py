"""Networks and amplifiers that several tests use, and random ones."""

import copy
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st
from scipy.optimize import brentq

from netsim.analysis import Analysis, analyse
from netsim.circuit.elements import Termination
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.stage import OperatingConditions
from netsim.circuit.tuning import match
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier, read
from netsim.verdict.any_antenna import TerminationOf

TEXT = {"topology"}


def network(**values: Any) -> Parts:
    """Lossless pi of one network, 2000 ohm at 7 MHz with free capacitors, unless told otherwise."""
    free = {
        "topology": "pi",
        "frequency": 7e6,
        "plate_load": 2000.0,
        "coil": 5e-6,
        "tune_minimum": 1e-15,
        "tune_maximum": 1e-6,
        "load_minimum": 1e-15,
        "load_maximum": 1e-6,
    }
    merged = free | values
    length = max(np.size(v) for k, v in merged.items() if k not in TEXT)
    arrays = {
        k: v if k in TEXT else np.broadcast_to(np.asarray(v, dtype=float), (length,))
        for k, v in merged.items()
    }
    return Parts(**arrays)


@st.composite
def networks(draw: st.DrawFn, *, topology: str | None = None, with_leads: bool = True) -> Parts:
    """Random network of any topology with any of the optional parts, lossy or not, near a sensible pi.

    Every second one has leads, self-capacitances and coupled coils.
    """
    between = lambda low, high: np.exp(draw(st.floats(np.log(low), np.log(high))))  # noqa: E731
    perhaps = st.booleans()
    frequency, plate_load, antenna = between(1.8e6, 30e6), between(500.0, 8e3), between(10.0, 300.0)
    omega = 2 * np.pi * frequency
    values: dict[str, Any] = {
        "topology": topology or draw(st.sampled_from(["pi", "pi-L"])),
        "frequency": frequency,
        "plate_load": plate_load,
        "antenna_resistance": antenna,
    }
    middle = antenna
    if values["topology"] == "pi-L":
        middle = antenna * between(1.5, 10.0)
        values["output_coil"] = np.sqrt(antenna * (middle - antenna)) / omega
    q1 = max(between(6.0, 20.0), 1.05 * np.sqrt(max(plate_load / middle - 1, 0.1)))
    virtual = plate_load / (1 + q1**2)
    q2 = np.sqrt(max(middle / virtual - 1, 0.05))
    values["coil"] = virtual * (q1 + q2) / omega * between(0.7, 1.2)
    tune, load = q1 / (omega * plate_load), q2 / (omega * middle)
    values |= {
        "tune_minimum": tune * between(0.02, 0.8),
        "tune_maximum": tune * between(0.9, 4.0),
        "load_minimum": load * between(0.02, 0.8),
        "load_maximum": load * between(0.9, 4.0),
    }
    options = {
        "output_capacitance": lambda: tune * between(0.01, 0.5),
        "tune_stray": lambda: tune * between(0.01, 0.3),
        "load_stray": lambda: load * between(0.01, 0.3),
        "tune_padding": lambda: tune * between(0.05, 0.8),
        "load_padding": lambda: load * between(0.05, 0.8),
        "blocking_capacitance": lambda: between(3.0, 300.0) / (omega * plate_load),
        "output_choke": lambda: antenna * between(3.0, 100.0) / omega,
    }
    values |= {name: make() for name, make in options.items() if draw(perhaps)}
    if draw(perhaps):
        values |= {
            "suppressor_inductance": between(1e-8, 2e-7),
            "suppressor_resistance": between(20.0, 200.0),
        }
    if draw(perhaps):
        values |= {"plate_choke": plate_load * between(1.0, 20.0) / omega}
        values |= {"plate_choke_capacitance": between(1e-12, 6e-12)} if draw(perhaps) else {}
    leads = {
        # From a thousandth of what resonates with the capacitor at the working frequency to three times that.
        "tune_lead": lambda: between(1e-3, 3.0) / (omega**2 * tune),
        "load_lead": lambda: between(1e-3, 3.0) / (omega**2 * load),
        "plate_lead": lambda: between(1e-9, 2e-7),
        "coil_capacitance": lambda: between(3e-13, 5e-12),
    }
    if "blocking_capacitance" in values:
        leads["blocking_lead"] = lambda: between(1e-9, 1e-7)
    if values["topology"] == "pi-L":
        leads["output_coil_capacitance"] = lambda: between(3e-13, 5e-12)
        leads["coupling"] = lambda: draw(st.floats(-0.3, 0.3))
    if with_leads and draw(perhaps):
        values |= {name: make() for name, make in leads.items() if draw(perhaps)}
    lossy = ["tune", "load", "tune_padding", "load_padding", "coil", "output_coil", "blocking"]
    lossy += [name for name in ("plate_choke", "output_choke") if name in values]
    values |= {f"{name}_q": between(60.0, 3000.0) for name in lossy if draw(perhaps)}
    return network(**values)


def hung_on(termination: Termination, loads: int) -> TerminationOf:
    """Give loads that are all there, those of the first network first, to whoever asks for some networks'."""
    networks = len(termination.impedance) // loads

    def some(rows: Any) -> Termination:
        place = (rows[:, np.newaxis] * loads + np.arange(loads)).ravel()
        return termination.take(place, networks * loads)

    return some


def one_stage(
    plate_voltage: float, supply: float, direct: float, drive: float, plate_load: float, spectrum: Any
) -> OperatingConditions:
    """Give the stage of one network, without a rating."""
    values = (plate_voltage, supply, direct, drive, plate_load)
    return OperatingConditions(
        *(np.array([value], dtype=float) for value in values),
        np.asarray(spectrum, dtype=float)[np.newaxis],
        np.ones(1),
        np.full(1, np.nan),
        np.full(1, np.pi),
    )


def amplifier_from(text: str, folder: Path) -> Amplifier:
    """Read an amplifier file with this text."""
    path = folder / "amplifier.toml"
    path.write_text(text)
    return read(path)


def described_otherwise(amplifier: Amplifier, description: Description) -> Amplifier:
    """Give what the reader never does: an amplifier whose description is not that of its text."""
    forged = copy.copy(amplifier)
    object.__setattr__(forged, "description", description)
    return forged


def edited(plain: Path, *changes: tuple[str, str]) -> str:
    """Text of an amplifier file with some pieces replaced, each of which must be there."""
    text = plain.read_text()
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


def judged(text: str, folder: Path) -> Analysis:
    """Judge an amplifier text without ngspice and samples, which the numbers do not depend on."""
    return analyse(amplifier_from(text, folder), engine="two-port", samples=1)


TUBE = """
[tube]
connection = "grounded grid"
count = 2
amplification_factor = 110
perveance = 1.1e-3
knee_voltage = "90 V"
bias_voltage = "-6 V"
drive_voltage_peak = "95 V"
grid_perveance = 3e-4
"""
"""An invented pair of tubes, to be added to an amplifier file."""


def coil_for_loaded_q(parts, wanted):
    """Return the coil [H] at which the match has a loaded Q, found by bracketing; shape ``(networks,)``."""
    found = []
    for row in range(len(parts)):
        one = parts.take(np.array([row]))

        def apart(coil, one=one):
            tried = replace(one, coil=np.array([coil]))
            q = loaded_q(tried, match(tried).tune[0]).item()
            return (
                0.0 if np.isnan(q) else q
            ) - wanted  # too large a coil has no match, and would have too little Q

        found.append(brentq(apart, one.coil.item() / 8, one.coil.item() * 8, xtol=1e-16))
    return np.array(found)
