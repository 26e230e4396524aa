"""What hangs where. Derived: from the circuit as drawn in a handbook."""

import numpy as np
import pytest
from samples import network

from netsim.circuit.elements import Capacitor, Inductor, Resistor
from netsim.circuit.topology import build_ladder

SETTING = np.array([1e-10])
LEAD = {"suppressor_inductance": 5e-8, "suppressor_resistance": 47.0}
BLOCKING = {"blocking_capacitance": 1e-9}


def places(**values) -> dict[str, tuple[str, str | None]]:
    ladder = build_ladder(network(**values), SETTING, SETTING)
    return {branch.name: (branch.node, branch.to) for branch in ladder.branches}


def test_pi_with_everything_in_the_lead():
    where = places(**LEAD, **BLOCKING)
    assert where["output_capacitance"] == ("plate", None)
    assert where["suppressor"] == ("plate", "junction")
    assert where["plate_choke"] == where["plate_choke_capacitance"] == ("junction", None)
    assert where["blocking_capacitor"] == ("junction", "tank")
    assert where["tune_capacitor"] == where["tune_padding"] == where["tune_stray"] == ("tank", None)
    assert where["coil"] == ("tank", "output")
    assert where["load_capacitor"] == where["load_padding"] == where["load_stray"] == ("output", None)
    assert where["output_choke"] == where["antenna"] == ("output", None)
    assert "output_coil" not in where


@pytest.mark.parametrize(
    ("values", "choke", "tune"),
    [
        ({}, "plate", "plate"),
        (LEAD, "junction", "junction"),
        (BLOCKING, "plate", "tank"),
        (LEAD | BLOCKING, "junction", "tank"),
    ],
)
def test_absent_parts_are_wires(values, choke, tune):
    where = places(**values)
    assert where["plate_choke"] == (choke, None)
    assert where["tune_capacitor"] == (tune, None)
    assert where["coil"] == (tune, "output")


def test_pi_l_has_its_antenna_behind_the_output_coil():
    where = places(topology="pi-L", output_coil=2e-6)
    assert where["output_coil"] == ("output", "antenna")
    assert where["antenna"] == where["output_choke"] == ("antenna", None)
    assert where["load_capacitor"] == ("output", None)


def test_values_arrive_with_their_losses():
    omega = 2 * np.pi * 7e6
    parts = network(tune_q=1000.0, load_q=500.0, coil_q=200.0, tune_padding=2e-11, tune_padding_q=50.0)
    ladder = build_ladder(parts, SETTING, np.array([4e-10]))
    tune, load, coil = (ladder[n].element for n in ("tune_capacitor", "load_capacitor", "coil"))
    assert isinstance(tune, Capacitor)
    assert isinstance(coil, Inductor)
    assert tune.resistance == pytest.approx([1 / (omega * 1e-10 * 1000)])
    assert load.resistance == pytest.approx([1 / (omega * 4e-10 * 500)])
    assert ladder["tune_padding"].element.resistance == pytest.approx([1 / (omega * 2e-11 * 50)])
    assert coil.resistance == pytest.approx([omega * 5e-6 / 200])


def test_antenna_off():
    ladder = build_ladder(network(), SETTING, SETTING, antenna_connected=False)
    antenna, plate = ladder["antenna"].element, ladder["plate_resistance"].element
    assert isinstance(antenna, Resistor)
    assert np.isinf(antenna.resistance).all()
    assert plate.resistance == pytest.approx([2000.0])
    assert ladder.branches[0].node == "plate"


def test_one_network_of_many_leaves_out_what_is_open():
    ladder = build_ladder(network(coil=[1e-6, 2e-6], tune_padding=[0.0, 1e-11]), SETTING, SETTING)
    first, second = ladder.singles()
    assert "tune_padding" not in first
    assert second["tune_padding"].element.capacitance == [1e-11]
    assert second["coil"].element.inductance == [2e-6]
    assert "plate_choke" not in first
    assert "output_choke" not in first
    assert "antenna" in first
    assert first.nodes == ("plate", "output")
    with pytest.raises(KeyError):
        first["tune_padding"]


EVERY_LEAD = {"plate_lead": 5e-8, "blocking_lead": 2e-8, "tune_lead": 3e-8, "load_lead": 4e-8}


def test_leads_stand_before_their_parts_and_paddings_beside_them():
    where = places(**LEAD, **BLOCKING, **EVERY_LEAD)
    assert where["plate_lead"] == ("plate", "lead_end")
    assert where["suppressor"] == ("lead_end", "junction")
    assert where["blocking_lead"] == ("junction", "blocking_terminal")
    assert where["blocking_capacitor"] == ("blocking_terminal", "tank")
    for side, node in (("tune", "tank"), ("load", "output")):
        assert where[f"{side}_lead"] == (node, f"{side}_terminal")
        assert where[f"{side}_capacitor"] == (f"{side}_terminal", None)
        assert where[f"{side}_padding"] == where[f"{side}_stray"] == (node, None)
    assert places(plate_lead=5e-8)["plate_lead"] == ("plate", "junction")
    assert places(plate_lead=5e-8)["plate_choke"] == ("junction", None)


def test_self_capacitances_stand_across_their_windings():
    where = places(
        topology="pi-L", output_coil=2e-6, coil_capacitance=3e-12, output_coil_capacitance=2e-12, **BLOCKING
    )
    assert where["coil"] == where["coil_capacitance"] == ("tank", "output")
    assert where["output_coil"] == where["output_coil_capacitance"] == ("output", "antenna")


def test_nodes_and_the_line_between_plate_and_antenna():
    ladder = build_ladder(network(**LEAD, **BLOCKING, **EVERY_LEAD), SETTING, SETTING)
    assert ladder.line == ("plate", "lead_end", "junction", "blocking_terminal", "tank", "output")
    assert ladder.nodes[0] == "plate"
    assert ladder.nodes[-1] == "output"
    assert set(ladder.nodes) == {*ladder.line, "tune_terminal", "load_terminal"}
    names = [tuple(branch.name for branch in shunt) for shunt in ladder.shunts("tank")]
    assert names == [("tune_lead", "tune_capacitor"), ("tune_padding",), ("tune_stray",)]


def test_coupling_is_of_a_pi_l_and_goes_with_each_network():
    coupled = {"output_coil": [2e-6, 3e-6], "coupling": [0.1, 0.3], "coil": 5e-6}
    ladder = build_ladder(network(topology="pi-L", **coupled), SETTING, SETTING)
    (pair,) = ladder.couplings
    assert ladder.mutual_inductance(pair) == pytest.approx(
        [0.1 * np.sqrt(5e-6 * 2e-6), 0.3 * np.sqrt(5e-6 * 3e-6)]
    )
    assert ladder.single(1).couplings[0].coefficient == [0.3]
    assert not build_ladder(network(coupling=0.1), SETTING, SETTING).couplings
