"""Netlist text: no word of the user's, no character that ends a line, no number that is none."""

import numpy as np
import pytest
from samples import network

from netsim.circuit.elements import Branch, Capacitor, Coupling, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.topology import build_ladder
from netsim.errors import EngineFailedError
from netsim.solvers import spice
from netsim.solvers.netlist import SubNetwork, render
from netsim.solvers.netlist import text as joined

ONE = np.ones(1)


def ladder(name: str = "r", node: str = "plate", value: float = 50.0) -> Ladder:
    return Ladder(np.array([7e6]), (Branch(name, Resistor(np.array([value])), node),))


def text(circuit: Ladder, **values) -> str:
    return render([SubNetwork("n1", circuit, 1.0, **values)], 7e6, 1)


def test_the_whole_of_a_small_netlist():
    # Derived: by hand, from the syntax of ngspice's manual.
    circuit = Ladder(
        np.array([7e6]),
        (
            Branch("coil", Inductor(np.array([5e-6]), np.array([2.0])), "plate", "output"),
            Branch("shunt", Capacitor(np.array([1e-10]), np.array([0.0])), "output"),
        ),
    )
    assert render([SubNetwork("n4", circuit, 4.0, 3j)], 7e6, 10).splitlines() == [
        "output network, one sub-network for each order",
        "in4 0 n4_plate ac 3.0 90.0",
        "vn4_coil n4_plate n4_coil_a 0",
        "ln4_coil n4_coil_a n4_coil_b 5e-06",
        "rn4_coil n4_coil_b n4_output 4.0",  # 2 ohm times sqrt(4)
        "vn4_shunt n4_output n4_shunt_a 0",
        "cn4_shunt n4_shunt_a 0 1e-10",
        ".options noopac",
        ".ac lin 10 7000000.0 70000000.0",
        ".end",
    ]


def test_coupled_coils_and_wires():
    # Derived: by hand, from the syntax of ngspice's manual; the dot is at the first node of each coil.
    def coil(name, inductance, node, to):
        return Branch(name, Inductor(np.array([inductance]), np.array([0.0])), node, to)

    circuit = Ladder(
        np.array([7e6]),
        (
            coil("lead", 0.0, "plate", "tank"),
            coil("coil", 5e-6, "tank", "output"),
            coil("output_coil", 2e-6, "output", "antenna"),
            Branch("antenna", Resistor(np.array([50.0])), "antenna"),
        ),
        (Coupling("coil", "output_coil", np.array([-0.2])),),
    )
    lines = render([SubNetwork("n1", circuit, 1.0)], 7e6, 1).splitlines()
    assert "vn1_lead n1_plate n1_tank 0" in lines
    assert not any(line.startswith("ln1_lead") for line in lines)
    assert "ln1_coil n1_coil_a n1_output 5e-06" in lines
    assert "kn1_coil ln1_coil ln1_output_coil -0.2" in lines


ENDINGS = ["\n", "\r", "\x0b", "\x0c", "\x1c", "\x1d", "\x1e", "\x85", "\u2028", "\u2029", "\0", "\t", "\x1b"]


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("where", ["name", "node"])
def test_control_characters_in_names_are_refused(ending, where):
    with pytest.raises(EngineFailedError, match="is not lower-case letters"):
        text(ladder(**{where: f"a{ending}shell"}))
    with pytest.raises(EngineFailedError, match="is not lower-case letters"):
        text(ladder(**{where: f"a{ending}"}))


@pytest.mark.parametrize("ending", ENDINGS)
def test_control_characters_in_a_line_are_refused_whoever_put_them_there(ending):
    for line in (f"r1 a 0 50{ending}", f"r1 a 0 50{ending}.control", ending):
        with pytest.raises(EngineFailedError, match="not printable ASCII"):
            joined(["title", line])
    assert joined(["title", "r1 a 0 50"]) == "title\nr1 a 0 50\n"


@pytest.mark.parametrize("name", ["", "A", "Rl", "1a", "_a", "a b", "a;b", "a" * 32, "µ", "a.b", "a-b"])
def test_other_names_are_refused(name):
    # Capitals because ngspice folds case: Rl and RL would be one.
    with pytest.raises(EngineFailedError, match="is not lower-case letters"):
        text(ladder(name=name))
    with pytest.raises(EngineFailedError, match="is not lower-case letters"):
        render([SubNetwork(name, ladder(), 1.0)], 7e6, 1)


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_numbers_that_are_none_are_refused(value):
    with pytest.raises(EngineFailedError, match="not a finite number"):
        text(ladder(value=value))
    with pytest.raises(EngineFailedError, match="not a finite number"):
        render([SubNetwork("n1", ladder(), 1.0)], value, 1)
    with pytest.raises(EngineFailedError, match="not a finite number"):
        text(ladder(), drive=value)


@pytest.mark.parametrize("value", [1 / 3, 1e-12 / 7, 47.000000000000007, 5e-324])
def test_numbers_read_back_as_they_were(value):
    (line,) = (line for line in text(ladder(value=value)).splitlines() if line.startswith("r"))
    assert float(line.split()[-1]) == value


def test_case_and_nodes_stay_apart_in_the_engine():
    # Two nodes that differ in one letter, through the engine and back.
    circuit = Ladder(
        np.array([7e6]),
        (
            Branch("ra", Resistor(np.array([10.0])), "plate", "o"),
            Branch("rb", Resistor(np.array([20.0])), "o", "oo"),
            Branch("rc", Resistor(np.array([30.0])), "oo"),
        ),
    )
    solved = spice.solve(circuit, ONE)
    volts = [solved.node_voltage[node].item().real for node in ("plate", "o", "oo")]
    assert volts == pytest.approx([60.0, 50.0, 30.0])


def test_every_name_that_a_network_gets_is_accepted():
    whole = network(
        topology="pi-L",
        output_coil=2e-6,
        suppressor_inductance=5e-8,
        suppressor_resistance=47.0,
        blocking_capacitance=1e-9,
        plate_choke=2e-4,
        plate_choke_capacitance=1e-12,
        tune_padding=1e-11,
        load_padding=1e-11,
        tune_stray=1e-12,
        load_stray=1e-12,
        output_capacitance=1e-11,
        output_choke=1e-3,
    )
    circuit = build_ladder(whole, np.array([1e-10]), np.array([5e-10])).single(0)
    lines = text(circuit).splitlines()
    assert all(line.isascii() and line.isprintable() for line in lines)
    assert sum(line.startswith("v") for line in lines) == len(circuit.branches) == 15
