"""The three solvers against each other, energy and reciprocity. Cross-solver, but for the two laws."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from samples import edited, network, networks

from netsim.analysis import analyse
from netsim.circuit.assembly import assemble
from netsim.circuit.elements import Branch, Capacitor, DampedInductor, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import dip, plate_impedance
from netsim.description.reader import read
from netsim.solvers import batch, spice, two_port
from netsim.solvers.agreement import worst_relative, worst_voltage

ORDERS = np.arange(1.0, 11.0)


def middle(parts: Parts) -> tuple[np.ndarray, np.ndarray]:
    return (
        np.sqrt(parts.tune_minimum * parts.tune_maximum),
        np.sqrt(parts.load_minimum * parts.load_maximum),
    )


FIXED = {
    "plain pi": {},
    "pi with everything": {
        "antenna_resistance": 75.0,
        "output_capacitance": 12e-12,
        "suppressor_inductance": 60e-9,
        "suppressor_resistance": 47.0,
        "plate_choke": 220e-6,
        "plate_choke_q": 80.0,
        "plate_choke_capacitance": 3e-12,
        "blocking_capacitance": 1e-9,
        "blocking_q": 2000.0,
        "tune_q": 1500.0,
        "tune_stray": 8e-12,
        "tune_padding": 30e-12,
        "tune_padding_q": 900.0,
        "load_q": 1000.0,
        "load_stray": 10e-12,
        "load_padding": 200e-12,
        "coil_q": 250.0,
        "output_choke": 2.5e-3,
        "output_choke_q": 50.0,
    },
    "pi-L": {"topology": "pi-L", "output_coil": 2.5e-6, "output_coil_q": 200.0, "coil_q": 250.0},
    "leads": {
        "plate_lead": 80e-9,
        "suppressor_inductance": 60e-9,
        "suppressor_resistance": 47.0,
        "blocking_capacitance": 1e-9,
        "blocking_lead": 25e-9,
        "tune_lead": 30e-9,
        "load_lead": 40e-9,
        "coil_capacitance": 3e-12,
        "coil_q": 250.0,
        "tune_q": 1500.0,
    },
    "plate lead alone": {"plate_lead": 80e-9, "plate_choke": 100e-6},
    "coils that aid": {"topology": "pi-L", "output_coil": 2.5e-6, "coupling": 0.2, "coil_q": 250.0},
    "coils that oppose": {
        "topology": "pi-L",
        "output_coil": 2.5e-6,
        "output_coil_q": 200.0,
        "coupling": -0.1,
        "coil_capacitance": 3e-12,
        "output_coil_capacitance": 2e-12,
        "load_lead": 40e-9,
    },
    "leads in one of two": {
        "topology": "pi-L",
        "output_coil": 2.5e-6,
        "load_lead": [0.0, 40e-9],
        "coupling": [0.1, 0.0],
        "coil_capacitance": [0.0, 3e-12],
    },
    "several at once": {"frequency": [3.6e6, 7.1e6, 28.5e6], "coil": [10e-6, 5e-6, 1.2e-6], "coil_q": 300.0},
}


@pytest.mark.parametrize("name", FIXED)
def test_three_solvers_and_the_closed_form_agree(name):
    parts = network(
        tune_minimum=50e-12, tune_maximum=250e-12, load_minimum=1e-10, load_maximum=2e-9, **FIXED[name]
    )
    tune, load = middle(parts)
    ladder = build_ladder(parts, tune, load)
    by_batch, by_two_port = batch.solve(ladder, ORDERS), two_port.solve(ladder, ORDERS)
    by_spice = spice.solve(ladder, ORDERS)
    assert worst_relative(by_batch, by_two_port).max() < 1e-9
    assert worst_relative(by_spice, by_two_port).max() < 1e-9
    closed = plate_impedance(parts, tune, load)
    np.testing.assert_allclose(by_batch.plate_impedance[:, 0], closed, rtol=1e-10)


@given(networks())
@settings(max_examples=60)
def test_batch_and_two_port_agree_on_any_network(parts):
    ladder = build_ladder(parts, *middle(parts))
    one, other = batch.solve(ladder, ORDERS), two_port.solve(ladder, ORDERS)
    assert worst_relative(one, other).max() < 1e-9


@given(networks())
@settings(max_examples=40)
def test_spice_and_two_port_agree_on_any_network(parts):
    ladder = build_ladder(parts, *middle(parts))
    assert worst_relative(spice.solve(ladder, ORDERS), two_port.solve(ladder, ORDERS)).max() < 1e-6


@given(networks())
@settings(max_examples=40)
def test_they_agree_with_the_antenna_off_at_the_dip(parts):
    # Lossless ones included, whose plate impedance is infinite there.
    load = middle(parts)[1]
    tune = dip(parts, load, antenna_connected=False)
    ladder = build_ladder(parts, tune, load, antenna_connected=False)
    fundamental = np.ones(1)
    one, other = spice.solve(ladder, fundamental), two_port.solve(ladder, fundamental)
    assert worst_voltage(one, other).max() < 1e-6
    assert worst_voltage(batch.solve(ladder, fundamental), other).max() < 1e-6


def dissipated(ladder: Ladder, solution) -> np.ndarray:
    """Heat in every resistance, the antenna's included, for 1 A peak [W]."""
    total = np.zeros((len(ladder), len(ORDERS)))
    for branch in ladder.branches:
        current = np.abs(solution.branch_current[branch.name])
        match branch.element:
            case Capacitor(resistance=r) | Resistor(resistance=r):
                total += current**2 * r[:, np.newaxis] / 2
            case Inductor() as coil:
                total += current**2 * coil.resistance_at(ORDERS) / 2
            case DampedInductor(resistance=r):
                across = solution.node_voltage[branch.node] - solution.node_voltage[branch.to]
                total += np.abs(across) ** 2 / r[:, np.newaxis] / 2
    return total


@pytest.mark.parametrize("solver", [batch, two_port, spice])
@given(parts=networks())
@settings(max_examples=25)
def test_power_balance(solver, parts):
    # Law: what goes in at the plate ends in the antenna and in the losses, order by order.
    ladder = build_ladder(parts, *middle(parts)).single(0)
    solution = solver.solve(ladder, ORDERS)
    # At high orders the plate sees a reactance with a millionth of resistance, known to rounding of the whole;
    # ngspice's elimination of some 300 unknowns leaves more of it than a ladder's recursion.
    share = 1e-11 if solver is spice else 1e-12
    power_in, rounding = np.real(solution.plate_impedance) / 2, share * np.abs(solution.plate_impedance)
    assert (np.abs(dissipated(ladder, solution) - power_in) <= 1e-9 * power_in + rounding).all()


def backwards(ladder: Ladder) -> Ladder:
    # Leads of what leads to ground stay where they are.
    turned = (
        Branch(b.name, b.element, b.to, b.node) if b.to in ladder.line else b
        for b in reversed(ladder.branches)
    )
    pairs = (replace(pair, one=pair.other, other=pair.one) for pair in ladder.couplings)
    return replace(ladder, branches=tuple(turned), couplings=tuple(pairs))


@pytest.mark.parametrize("solver", [batch, two_port])
@given(parts=networks())
@settings(max_examples=25)
def test_reciprocity(solver, parts):
    # Law: 1 A into the plate makes the voltage at the antenna that 1 A there makes at the plate.
    # Both ends need a shunt branch, hence some output capacitance.
    parts = replace(parts, output_capacitance=np.maximum(parts.output_capacitance, 1e-12))
    ladder = build_ladder(parts, *middle(parts)).single(0)
    far = ladder.nodes[-1]
    forth = solver.solve(ladder, ORDERS).node_voltage[far]
    back = solver.solve(backwards(ladder), ORDERS).node_voltage["plate"]
    np.testing.assert_allclose(forth, back, rtol=1e-8)


@pytest.mark.parametrize("file", ["old-tubes.toml", "new-tube.toml", "new-tube-pi-l.toml"])
def test_demonstration_files_agree(file, circuits):
    walked = analyse(read(circuits / file))
    worst = [p.agreement.worst_relative for b in walked.verdict.bands for p in b.points]
    assert None not in worst
    assert max(worst) < 1e-8  # a choke of milliampere-parts beside amperes is ngspice's own rounding
    assert walked.verdict.cross_checked


def test_a_wholly_lossless_file_is_solved(plain, tmp_path):
    # Its dip with the antenna off has no finite voltage for a given current; only ratios are left.
    text = "\n".join(line for line in plain.read_text().splitlines() if not line.startswith("q = "))
    path = tmp_path / "lossless.toml"
    path.write_text(text)
    verdict = analyse(read(path)).verdict
    for band in verdict.bands:
        for point in band.points:
            assert point.parts["tune_capacitor"].unloaded_voltage_peak_volt < 3500


def test_numbers_do_not_depend_on_ngspice(plain, tmp_path):
    amplifier = read(plain)
    with_it, without = analyse(amplifier).verdict, analyse(amplifier, engine="two-port", samples=1).verdict
    assert without.provenance.ngspice is None
    assert not without.cross_checked
    for one, other in zip(with_it.bands, without.bands, strict=True):
        for a, b in zip(one.points, other.points, strict=True):
            assert a.stored_energy_q == pytest.approx(b.stored_energy_q, rel=1e-9)
            assert a.output_watt == pytest.approx(b.output_watt, rel=1e-9)
            assert b.agreement.worst_relative is None
    assert [f.code for f in with_it.findings] == [f.code for f in without.findings]


def test_a_difference_between_the_solvers_is_refused(plain, monkeypatch):
    from netsim.errors import DisagreementError

    whole = spice.solve

    def wrong(ladder, orders, drive=None):
        solution = whole(ladder, orders, drive)
        tampered = dict(solution.branch_current)
        tampered["coil"] = tampered["coil"] * (1 + 2e-6)
        return replace(solution, branch_current=tampered)

    monkeypatch.setattr(spice, "solve", wrong)
    with pytest.raises(DisagreementError, match=r"differ by 2e-06 at 3\.5 MHz"):
        analyse(read(plain))


def test_pieces_of_text_are_where_tests_expect_them(plain):
    # Guards the other tests, which edit this file.
    assert edited(plain, ('coil = "11.2 uH"', 'coil = "11 uH"')).count("11 uH") == 1
    assert len(assemble(read(plain)).parts) == 6
