"""Shorted loops against ngspice: the same inductances as a circuit of coupled coils (K elements)."""

import re
import shutil
import subprocess

import numpy as np
import pytest

from netsim.circuit.coil.mutual_inductance import coaxial_circles
from netsim.circuit.coil.partial_inductance import inductance_matrix
from netsim.circuit.coil.tapped_coil import tapped_coil
from netsim.circuit.coil.winding import Solenoid, Winding

pytestmark = pytest.mark.skipif(
    shutil.which("ngspice") is None, reason="the ngspice command is not installed"
)

TUBING = Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
WIRE = Solenoid(turns=14.0, mean_diameter=0.052, pitch=0.0035, conductor_diameter=0.002, gap=0.012)


def coupled(inductances):
    """Inductor and K lines; inductor i from node a{i} to node b{i}."""
    count = len(inductances)
    lines = [f"l{i} a{i} b{i} {float(inductances[i, i])!r}" for i in range(count)]
    for one in range(count):
        for two in range(one + 1, count):
            factor = inductances[one, two] / np.sqrt(inductances[one, one] * inductances[two, two])
            lines.append(f"k{one}x{two} l{one} l{two} {float(factor)!r}")
    return lines


def solve(lines, frequency, wanted, tmp_path):
    """Run one AC frequency and give the wanted vectors as complex numbers."""
    commands = [f"print {name}" for name in wanted]
    control = [
        ".control",
        "set numdgt=15",
        f"ac lin 1 {frequency!r} {frequency!r}",
        *commands,
        ".endc",
        ".end",
    ]
    deck = tmp_path / "coupled.cir"
    deck.write_text("\n".join(["coupled coils", *lines, *control, ""]))
    ran = subprocess.run(
        ["ngspice", "-b", deck.name], cwd=tmp_path, capture_output=True, text=True, timeout=60
    )
    found = {
        name.lower(): complex(float(real), float(imaginary))
        for name, real, imaginary in re.findall(
            r"^(\S+) = ([-+.\de]+),([-+.\de]+)\s*$", ran.stdout, re.MULTILINE
        )
    }
    assert set(found) == set(wanted), ran.stdout + ran.stderr
    return [found[name] for name in wanted]


@pytest.mark.parametrize(
    ("unused_turns", "tap", "frequency"),
    [
        ("strap", 4.0, 14.2e6),
        ("strap", 8.5, 3.6e6),
        ("progressive", 2.0, 28.5e6),
        ("progressive", 6.5, 7.1e6),
    ],
)
def test_loops_are_the_coupled_circuit(unused_turns, tap, frequency, tmp_path):
    # Cross-solver: the circuit is solved by ngspice, the inductances and resistances are ours.
    winding = Winding((TUBING, WIRE), unused_turns, (3.0, 6.5, 11.0), lead_inductance=35e-9)
    coil = tapped_coil(winding, tap, frequency)
    used = np.flatnonzero(np.append(True, coil.loop_turns[0] > 0.0))
    inductances = inductance_matrix(winding, [tap])[0][np.ix_(used, used)]
    lines = ["idrive 0 drive dc 0 ac 1", "vsense0 drive a0 0", f"r0 b0 0 {float(coil.open_resistance[0])!r}"]
    for position, loop in enumerate(used[1:], start=1):
        resistance = coil.loop_resistance[0, loop - 1] / np.abs(coil.loop_current[0, loop - 1]) ** 2
        lines += [f"vsense{position} 0 a{position} 0", f"r{position} b{position} 0 {float(resistance)!r}"]
    currents = [f"i(vsense{position})" for position in range(1, used.size)]
    across, *found = solve(lines + coupled(inductances), frequency, ["v(drive)", *currents], tmp_path)
    assert across.real == pytest.approx(coil.resistance[0], rel=1e-6)
    assert across.imag / (2 * np.pi * frequency) == pytest.approx(coil.inductance[0], rel=1e-9)
    np.testing.assert_allclose(found, coil.loop_current[0, used[1:] - 1], rtol=1e-8)


@pytest.mark.parametrize("tap", [3, 7])
def test_strap_against_every_turn_on_its_own(tap, tmp_path):
    # Cross-solver and derived: each turn a circle of wire, mu0 a (ln(8 a / r) - 7/4), every pair coupled by
    # Maxwell's formula; ngspice shorts the turns beyond the tap. Nothing of the winding's own formulas is
    # used. Rosa's corrections leave second order in pitch over radius: a few parts in a thousand.
    places = np.concatenate([(np.arange(5) + 0.5) * 0.008, 0.052 + (np.arange(14) + 0.5) * 0.0035])
    radii = np.repeat([0.024, 0.026], [5, 14])
    wires = np.repeat([0.0025, 0.001], [5, 14])
    apart = np.abs(np.subtract.outer(places, places)) + np.eye(19)
    every = coaxial_circles(radii[:, None], radii, apart)
    np.fill_diagonal(every, 4e-7 * np.pi * radii * (np.log(8.0 * radii / wires) - 1.75))
    # Turns in series by 0 V sources; the chain is driven to the tap and shorted from there to its end.
    lines = ["idrive 0 a0 dc 0 ac 1", f"vground b{tap - 1} 0 0", f"vshort 0 a{tap} 0", "rshort b18 0 1e-6"]
    lines += [f"vlink{turn} b{turn} a{turn + 1} 0" for turn in range(18) if turn != tap - 1]
    across, current = solve(lines + coupled(every), 14.2e6, ["v(a0)", "i(vshort)"], tmp_path)
    coil = tapped_coil(Winding((TUBING, WIRE)), tap, 14.2e6)
    assert across.imag / (2 * np.pi * 14.2e6) == pytest.approx(coil.inductance[0], rel=5e-3)
    assert current.real == pytest.approx(coil.loop_current[0, 0].real, rel=5e-3)
