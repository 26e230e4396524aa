"""Shorted loops against ngspice: the same inductances as a circuit of coupled coils (K elements)."""

import re
import shutil
import subprocess

import numpy as np
import pytest

from netsim.circuit.coil.conductor import surface_resistance
from netsim.circuit.coil.rings import coaxial_circles, turn_matrices
from netsim.circuit.coil.tapped_coil import segment_ends, tapped_coil
from netsim.circuit.coil.winding import COPPER_60C, Solenoid, Winding

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
    matrices = turn_matrices(winding.sections)
    begin, end = segment_ends(winding, np.array([tap]))
    stretches = (begin[:, used], end[:, used])
    inductances = matrices.between(matrices.inductance[np.newaxis], stretches, stretches)[0, 0]
    inductances += np.diag([35e-9, *[20e-9] * (used.size - 1)])
    of_run = [surface_resistance(run.conductor_diameter, COPPER_60C, frequency) for run in (TUBING, WIRE)]
    resistances = np.tensordot(of_run, matrices.between(matrices.loss, stretches, stretches)[0], 1)
    lines = ["idrive 0 a0 dc 0 ac 1"]
    for position in range(used.size):
        # What every current drops across the resistance of this stretch, by sources that follow the currents.
        lines += [
            f"h{position}x{other} m{position}x{other} m{position}x{other + 1} vsense{other} {drop!r}"
            for other, drop in enumerate(resistances[position].tolist())
        ]
        lines += [
            f"vjoin{position} b{position} m{position}x0 0",
            f"vsense{position} m{position}x{used.size} 0 0",
        ]
        lines += [f"vground{position} a{position} 0 0"] if position else []
    currents = [f"i(vsense{position})" for position in range(1, used.size)]
    across, *found = solve(lines + coupled(inductances), frequency, ["v(a0)", *currents], tmp_path)
    assert across.real == pytest.approx(coil.resistance[0], rel=1e-6)
    assert across.imag / (2 * np.pi * frequency) == pytest.approx(coil.inductance[0], rel=1e-9)
    np.testing.assert_allclose(found, coil.loop_current[0, used[1:] - 1], rtol=1e-7)
    chain = np.abs(np.diff([1.0, *found, 0.0]))
    np.testing.assert_allclose(chain, coil.contact_current[0, -chain.size :], rtol=1e-7)


@pytest.mark.parametrize("tap", [3, 7])
def test_strap_against_every_turn_on_its_own(tap, tmp_path):
    # Cross-solver: ngspice shorts the turns beyond the tap, each an inductor coupled to all others; the current
    # of the contact is that of a source in the lead from the tap to ground.
    every = turn_matrices((TUBING, WIRE)).inductance
    # Turns in series by 0 V sources; all but the contact's own meet at the tap.
    lines = ["idrive 0 a0 dc 0 ac 1", "vcontact tap 0 0", f"vtap b{tap - 1} tap 0", f"vloop tap a{tap} 0"]
    lines += ["lstrap b18 0 20n"]
    lines += [f"vlink{turn} b{turn} a{turn + 1} 0" for turn in range(18) if turn != tap - 1]
    wanted = ["v(a0)", "i(vcontact)", "i(vloop)"]
    across, contact, loop = solve(lines + coupled(every), 14.2e6, wanted, tmp_path)
    coil = tapped_coil(Winding((TUBING, WIRE)), tap, 14.2e6)
    assert across.imag / (2 * np.pi * 14.2e6) == pytest.approx(coil.inductance[0], rel=1e-4)
    assert loop.real == pytest.approx(coil.loop_current[0, 0].real, rel=1e-3)
    assert abs(contact) == pytest.approx(coil.contact_current[0].max(), rel=1e-3)


def coil_by_nodes(inductances, resistance, strap, frequency):
    """Solve active turns and shorted end by hand: node voltages and branch currents in one system.

    Nodes: 1 the driven end, 2 the tap, 3 the far end; ground is the other side of the contact. Branches: the
    active turns (1 to 2), the end (2 to 3), the strap (3 to ground), the contact (2 to ground).
    """
    omega = 2 * np.pi * frequency
    incidence = np.array([[1, 0, 0, 0], [-1, 1, 0, 1], [0, -1, 1, 0]], dtype=float)
    branch = np.zeros((4, 4), dtype=complex)
    branch[:2, :2] = 1j * omega * inductances + np.diag(resistance)
    branch[2, 2] = 1j * omega * strap
    system = np.block([[incidence, np.zeros((3, 3))], [-branch, incidence.T]])
    found = np.linalg.solve(system, [1, 0, 0, 0, 0, 0, 0])
    return dict(zip(("active", "end", "strap", "contact"), np.abs(found[:4]), strict=True))


def test_the_contact_at_the_tap_of_a_short():
    # Published to the project (stock ngspice, uniform current): 20 of 24 turns of 63 mm, pitch 5 mm, at 3.65 MHz,
    # no strap: contact 1.649 and loop .649 per ampere. Rings of 2.5 mm wire with uniform current, by Maxwell.
    place = np.arange(24) * 0.005
    every = coaxial_circles(0.0315, 0.0315, np.subtract.outer(place, place) + np.eye(24))
    np.fill_diagonal(every, 4e-7 * np.pi * 0.0315 * (np.log(8 * 0.0315 / 0.00125) - 1.75))
    active = np.array([place < 0.1, place >= 0.1], dtype=float)
    uniform = active @ every @ active.T
    found = coil_by_nodes(uniform, [0.3, 0.06], 0.0, 3.65e6)
    assert found["contact"] == pytest.approx(1.649, abs=6e-4)
    assert found["strap"] == pytest.approx(0.649, abs=6e-4)
    assert found["active"] == pytest.approx(1.0)
    # Ours: the same circuit with the surface's inductances, and the formula 1 + M / L2.
    matrices = turn_matrices((Solenoid(24.0, 0.063, 0.005, 0.0025),))
    surface = active @ matrices.inductance @ active.T
    for strap in (0.0, 20e-9):
        coil = tapped_coil(
            Winding((Solenoid(24.0, 0.063, 0.005, 0.0025),), strap_inductance=strap), 20.0, 3.65e6
        )
        found = coil_by_nodes(surface, [0.3, 0.06], strap, 3.65e6)
        assert coil.contact_current[0, 0] == pytest.approx(found["contact"], rel=1e-4)
        assert coil.contact_current[0, 1] == pytest.approx(found["strap"], rel=1e-4)
        assert coil.contact_current[0, 0] == pytest.approx(
            1 + surface[0, 1] / (surface[1, 1] + strap), rel=1e-4
        )
    # Less inductance in the wire lets the loop carry a few per cent more.
    assert 1.649 < coil.contact_current[0, 0] < 1.72


def helix(turns, diameter, pitch, wire):
    """Partial inductance of a helix of thin wire, current at its surface, by Neumann's integral along it."""
    rise, radius, whole = pitch / (2 * np.pi), 0.5 * diameter, 2 * np.pi * turns
    near = wire / np.hypot(radius, rise)
    # Every pair of points that far apart, and how many there are; the step follows the distance.
    node, weight = np.polynomial.legendre.leggauss(600)
    reach = np.arcsinh(whole / near)
    apart = near * np.sinh(0.5 * reach * (node + 1))
    step = 0.5 * reach * weight * near * np.cosh(0.5 * reach * (node + 1))
    distance = np.sqrt(4 * radius**2 * np.sin(0.5 * apart) ** 2 + (rise * apart) ** 2 + wire**2)
    product = radius**2 * np.cos(apart) + rise**2
    return 2e-7 * np.sum(step * (whole - apart) * product / distance)


@pytest.mark.parametrize("turns", [1.25, 1.5, 2.0, 3.0, 3.25, 3.5, 5.0, 5.5, 8.0])
def test_rings_and_arcs_against_a_helix(turns):
    # Cross-solver: no rings there, and the tap anywhere along a turn.
    coil = tapped_coil(Winding((Solenoid(9.0, 0.05, 0.01, 0.001),), "open"), turns, 7e6)
    assert coil.inductance[0] == pytest.approx(helix(turns, 0.05, 0.01, 0.0005), rel=0.015)
