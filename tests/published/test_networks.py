"""Networks against what handbooks print. Lossless unless said otherwise."""

import numpy as np
import pytest
from samples import coil_for_loaded_q, network
from scipy.optimize import brentq

from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import match
from netsim.solvers import batch, two_port
from netsim.verdict.stress import stored_energy_q

ORDERS = np.arange(1.0, 11.0)


def settings(parts: Parts, candidate: int = 0) -> tuple[float, float]:
    found = match(parts)
    return found.tune[candidate].item(), found.load[candidate].item()


def matched(parts: Parts):
    found = match(parts)
    ladder = build_ladder(parts, found.tune[0], found.load[0])
    return ladder, two_port.solve(ladder, ORDERS)


def energy_q(coil: float, **values: float) -> float:
    return stored_energy_q(*matched(network(coil=coil, **values))).item()


# Published: ARRL Handbook 1947, table of pi networks, 14 MHz, Q 10 by plate load over reactance, 50 ohm.
# The table was read off graphs: 3 % of the tune, 8 % of the load capacitance, 4 % of the coil.
@pytest.mark.parametrize(
    ("plate_load", "tune", "load", "coil"),
    [(1000, 112, 460, 1.4), (2000, 56, 275, 2.5), (3000, 37, 175, 3.6), (4000, 28, 117, 4.7)],
)
def test_table_of_1947(plate_load, tune, load, coil):
    parts = network(frequency=14e6, plate_load=plate_load, coil=3e-6)
    ours = coil_for_loaded_q(parts, 10.0).item()
    tuned = settings(network(frequency=14e6, plate_load=plate_load, coil=ours))
    assert tuned[0] * 1e12 == pytest.approx(tune, rel=0.03)
    assert tuned[1] * 1e12 == pytest.approx(load, rel=0.08)
    assert ours * 1e6 == pytest.approx(coil, rel=0.04)


# From memory: 2000 to 50 ohm at 7.00 MHz and Q 10, by the definitions of handbooks before and after 1995. Derived: the
# formulas of both further down give these digits.
def test_2000_ohm_by_plate_load_over_reactance():
    parts = network(plate_load=2000.0, frequency=7e6)
    coil = coil_for_loaded_q(parts, 10.0).item()
    tune, load = settings(network(coil=coil))
    assert tune * 1e12 == pytest.approx(114, abs=0.5)
    assert load * 1e12 == pytest.approx(562, abs=0.5)
    assert coil * 1e6 == pytest.approx(5.06, abs=0.005)
    assert loaded_q(network(coil=coil), np.array([tune])).item() == pytest.approx(10, rel=1e-6)


def test_2000_ohm_by_stored_energy():
    coil = brentq(lambda value: energy_q(value) - 10.0, 4e-6, 7e-6, xtol=1e-16)
    tune, load = settings(network(coil=coil))
    assert tune * 1e12 == pytest.approx(102.1, abs=0.05)
    assert load * 1e12 == pytest.approx(463.9, abs=0.05)
    assert coil * 1e6 == pytest.approx(5.57, abs=0.005)


def test_the_two_definitions_are_not_the_same_network():
    # Derived from the two published coils: 10 % apart, so a mix-up cannot pass.
    assert energy_q(5.06e-6) > 11.2


# Published in handbooks before 1995: Xc1 = R1/Q; Xc2 = R2 sqrt((R1/R2)/(Q^2 + 1 - R1/R2));
# XL = (Q R1 + R1 R2/Xc2)/(Q^2 + 1).
@pytest.mark.parametrize("plate_load", [100.0, 200.0, 500.0, 800.0, 1000.0, 2000.0, 5000.0])
@pytest.mark.parametrize("antenna", [25.0, 50.0, 300.0])
@pytest.mark.parametrize("q", [15.0, 22.0])
def test_classic_formulas(plate_load, antenna, q):
    omega, ratio = 2 * np.pi * 7e6, plate_load / antenna
    xc1, xc2 = plate_load / q, antenna * np.sqrt(ratio / (q**2 + 1 - ratio))
    xl = (q * plate_load + plate_load * antenna / xc2) / (q**2 + 1)
    parts = network(plate_load=plate_load, antenna_resistance=antenna, coil=xl / omega)
    tune, load = settings(parts)
    assert (tune, load) == pytest.approx((1 / (omega * xc1), 1 / (omega * xc2)), rel=1e-9)


# Published in handbooks since 1995, two L networks back to back: Rv = R1/(1 + Q1^2) = R2/(1 + Q2^2),
# XL = Rv (Q1 + Q2); the working Q is Q1 + Q2.
@pytest.mark.parametrize(("q1", "q2"), [(8.0, 1.0), (12.0, 2.5), (18.0, 4.0)])
def test_two_l_formulas(q1, q2):
    omega, antenna = 2 * np.pi * 7e6, 50.0
    virtual = antenna / (1 + q2**2)
    plate_load = virtual * (1 + q1**2)
    values = {"plate_load": plate_load, "antenna_resistance": antenna}
    parts = network(coil=virtual * (q1 + q2) / omega, **values)
    tune, load = settings(parts)
    assert (tune, load) == pytest.approx((q1 / (omega * plate_load), q2 / (omega * antenna)), rel=1e-9)
    assert loaded_q(parts, np.array([tune])).item() == pytest.approx(q1, rel=1e-9)
    assert stored_energy_q(*matched(parts)).item() == pytest.approx(q1 + q2, rel=1e-9)


def test_stored_energy_of_a_pi_l_is_q1_q2_q3():
    # Derived: the output L steps 50 ohm up to 50 (1 + Q3^2), where a pi of Q1 and Q2 takes over.
    omega, q1, q2, q3 = 2 * np.pi * 7e6, 11.0, 3.0, 2.0
    middle = 50.0 * (1 + q3**2)
    virtual = middle / (1 + q2**2)
    values = {"topology": "pi-L", "output_coil": 50.0 * q3 / omega, "plate_load": virtual * (1 + q1**2)}
    parts = network(coil=virtual * (q1 + q2) / omega, **values)
    tune, load = settings(parts)
    assert tune == pytest.approx(q1 / (omega * values["plate_load"]), rel=1e-9)
    assert load == pytest.approx((q2 + q3) / (omega * middle), rel=1e-9)
    assert stored_energy_q(*matched(parts)).item() == pytest.approx(q1 + q2 + q3, rel=1e-9)


@pytest.mark.parametrize("plate_load", [1000.0, 2000.0, 4500.0])
def test_least_loaded_q(plate_load):
    # Published in handbooks: no pi has less than sqrt(R1/R2 - 1), reached where the load capacitor vanishes.
    least = np.sqrt(plate_load / 50.0 - 1)
    coils = np.linspace(0.98, 1.02, 4001) * 50.0 * least / (2 * np.pi * 7e6)
    parts = network(plate_load=plate_load, coil=coils)
    found = match(parts)
    q = np.stack([loaded_q(parts, tune) for tune in found.tune])
    assert np.nanmin(q) == pytest.approx(least, rel=2e-4)
    assert np.nanmin(q) >= least * (1 - 1e-9)
    assert found.load.ravel()[np.nanargmin(q)] < 3e-12


def test_output_section_of_a_pi_l():
    # Derived: 300 to 50 ohm takes Q sqrt(5) = 2.236, a series reactance of 111.8 and a shunt one of 134.2 ohm.
    parts = network(topology="pi-L", output_coil=111.8 / (2 * np.pi * 7e6))
    solution = batch.solve(build_ladder(parts, np.array([1e-10]), np.array([1e-9])), np.ones(1))
    seen = (solution.branch_current["output_coil"] / solution.node_voltage["output"]).item()
    assert 1 / seen.real == pytest.approx(300.0, abs=0.1)
    assert -1 / seen.imag == pytest.approx(134.2, abs=0.1)


def test_currents_of_a_pi():
    # Published, rounded to 0.1 A: Q1 14, Q2 1 into 50 ohm at full legal power: C1 7.5, L 7.5, C2 5.3, load 5.3 A.
    # 5.3 A into 50 ohm are 1405 W; 1500 W would be 5.48 A. The source rounded or took losses off, so its own
    # load current sets the scale here.
    q1, q2 = 14.0, 1.0
    virtual = 50.0 / (1 + q2**2)
    coil = virtual * (q1 + q2) / (2 * np.pi * 7e6)
    _, solution = matched(network(plate_load=virtual * (1 + q1**2), coil=coil))
    current = {name: abs(values[0, 0]) for name, values in solution.branch_current.items()}
    scale = 5.3 / current["antenna"]
    assert current["tune_capacitor"] * scale == pytest.approx(7.5, abs=0.05)
    assert current["coil"] * scale == pytest.approx(7.5, abs=0.05)
    assert current["load_capacitor"] * scale == pytest.approx(5.3, abs=0.05)


def attenuation(parts: Parts) -> np.ndarray:
    _, solution = matched(parts)
    antenna = np.abs(solution.branch_current["antenna"][0])
    return 20 * np.log10(antenna[0] / antenna)


def at_q(q, **values):
    coil = coil_for_loaded_q(network(**values), q).item()
    return network(**values | {"coil": coil})


def chain(plate_load, q, order, middle=50.0):
    """Antenna over plate current of a lossless pi or pi-L by chain matrices, classic formulas, 7 MHz; derived."""
    omega, ratio = 2 * np.pi * 7e6, plate_load / middle
    xc1, xc2 = plate_load / q, middle * np.sqrt(ratio / (q**2 + 1 - ratio))
    xl = (q * plate_load + plate_load * middle / xc2) / (q**2 + 1)
    shunts, series = [1 / (omega * xc1), 1 / (omega * xc2)], [xl / omega]
    if (
        middle > 50
    ):  # the output coil steps 50 ohm up to the middle, its shunt part added to the load capacitor
        step = np.sqrt(middle / 50 - 1)
        shunts[1] += step / (omega * middle)
        series.append(50 * step / omega)
    w = order * omega
    matrices = [
        [[1, 0], [1j * w * shunts[0], 1]],
        [[1, 1j * w * series[0]], [0, 1]],
        [[1, 0], [1j * w * shunts[1], 1]],
    ]
    matrices += [[[1, 1j * w * coil], [0, 1]] for coil in series[1:]]
    whole = np.linalg.multi_dot([np.array(m) for m in matrices])
    return abs(1 / (whole[1, 0] * 50 + whole[1, 1]))


# Derived: by chain matrices of the classic formulas, no code of the project; the middle of the pi-L is 300 ohm.
@pytest.mark.parametrize(
    ("plate_load", "middle", "second", "third"),
    [(2000.0, 50.0, 37.1, 49.0), (3000.0, 50.0, 36.2, 47.9), (3000.0, 300.0, 47.9, 63.8)],
)
def test_harmonic_attenuation(plate_load, middle, second, third):
    wanted = [
        20 * np.log10(chain(plate_load, 12.0, 1, middle) / chain(plate_load, 12.0, n, middle)) for n in (2, 3)
    ]
    assert wanted == pytest.approx([second, third], abs=0.06)
    values = {"plate_load": plate_load}
    if middle > 50:
        values |= {"topology": "pi-L", "output_coil": np.sqrt(middle / 50 - 1) * 50 / (2 * np.pi * 7e6)}
    ours = attenuation(at_q(12.0, **values))
    assert ours[1:3] == pytest.approx(wanted, abs=1e-4)


def test_handbook_wording_of_harmonic_attenuation():
    # From memory: handbooks promise 35 to 40 dB for a pi, 50 and more for a pi-L; common practice: loaded Q 10 to
    # 15. Ours passes 50 dB at the upper end of that only, 47.9 dB at Q 12 as above: both stand.
    for plate_load in (1500.0, 2000.0, 3000.0):
        assert 35 < attenuation(at_q(12.0, plate_load=plate_load))[1] < 40
    pi_l = {"plate_load": 2000.0, "topology": "pi-L", "output_coil": 50 * 3.0 / (2 * np.pi * 7e6)}
    assert attenuation(at_q(15.0, **pi_l))[1] > 50


# From memory, handbooks: efficiency = 1 - loaded over unloaded Q; 12 over 300 leaves 96 %. Loaded Q in the sense of
# stored energy in the coil, which carries all the loss; first order in QL/QU, hence the square of it as tolerance.
def test_efficiency_of_a_lossy_coil():
    coil = brentq(lambda value: energy_q(value, coil_q=300.0) - 12.0, 3e-6, 6e-6, xtol=1e-16)
    _, solution = matched(network(coil=coil, coil_q=300.0))
    delivered = 50.0 * abs(solution.branch_current["antenna"][0, 0]) ** 2
    assert delivered / solution.plate_impedance[0, 0].real == pytest.approx(0.96, abs=0.04**2)
