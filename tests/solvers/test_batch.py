"""One volt at the antenna, back to the plate. Derived: by hand on dividers."""

import numpy as np
import pytest

from netsim.circuit.elements import Branch, Capacitor, DampedInductor, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.solvers import batch, two_port

SOLVERS = pytest.mark.parametrize("solver", [batch, two_port])
OMEGA = 2 * np.pi * 1e6


def column(*values: float) -> np.ndarray:
    return np.array(values)


def ladder(*branches: Branch) -> Ladder:
    return Ladder(np.array([1e6]), branches)


@SOLVERS
def test_divider(solver):
    solved = solver.solve(
        ladder(
            Branch("r1", Resistor(column(100.0)), "plate"),
            Branch("r2", Resistor(column(60.0)), "plate", "far"),
            Branch("r3", Resistor(column(40.0)), "far"),
        ),
        np.ones(1),
    )
    # 1 A into 100 ohm beside 60 + 40 ohm.
    assert solved.plate_impedance.item() == pytest.approx(50.0)
    assert solved.node_voltage["far"].item() == pytest.approx(20.0)
    assert [solved.branch_current[n].item() for n in ("r1", "r2", "r3")] == pytest.approx([0.5, 0.5, 0.5])


@SOLVERS
def test_capacitor_keeps_its_resistance_and_a_coil_does_not(solver):
    orders = np.array([1.0, 4.0])
    capacitor = Capacitor(column(1 / (OMEGA * 100.0)), column(3.0))
    seen = solver.solve(ladder(Branch("c", capacitor, "plate")), orders).plate_impedance
    np.testing.assert_allclose(seen, [[3 - 100j, 3 - 25j]], rtol=1e-12)
    coil = Inductor(column(100.0 / OMEGA), column(3.0))
    seen = solver.solve(ladder(Branch("l", coil, "plate")), orders).plate_impedance
    np.testing.assert_allclose(seen, [[3 + 100j, 6 + 400j]], rtol=1e-12)


@SOLVERS
def test_suppressor_is_a_coil_beside_a_resistor(solver):
    damped = DampedInductor(column(50.0 / OMEGA), column(50.0))
    solved = solver.solve(
        ladder(Branch("s", damped, "plate", "far"), Branch("r", Resistor(column(10.0)), "far")),
        np.array([1.0, 3.0]),
    )
    # 50 || j50 = 25 + j25; 50 || j150 = 45 + j15.
    np.testing.assert_allclose(solved.plate_impedance, [[35 + 25j, 55 + 15j]], rtol=1e-12)


@SOLVERS
def test_what_is_open_carries_nothing(solver):
    nothing = [
        Branch("c", Capacitor(column(0.0), column(0.0)), "plate"),
        Branch("l", Inductor(column(np.inf), column(0.0)), "plate"),
        Branch("x", Resistor(column(np.inf)), "plate"),
    ]
    solved = solver.solve(ladder(*nothing, Branch("r", Resistor(column(50.0)), "plate")), np.ones(1))
    assert solved.plate_impedance.item() == pytest.approx(50.0)
    assert [solved.branch_current[b.name].item() for b in nothing] == [0, 0, 0]


@SOLVERS
def test_networks_do_not_mix(solver):
    many = Ladder(
        np.array([1e6, 2e6, 3e6]), (Branch("l", Inductor(np.full(3, 100.0 / OMEGA), np.zeros(3)), "plate"),)
    )
    seen = solver.solve(many, np.array([1.0, 10.0])).plate_impedance
    np.testing.assert_allclose(seen, 1j * np.array([[100, 1000], [200, 2000], [300, 3000]]), rtol=1e-11)
