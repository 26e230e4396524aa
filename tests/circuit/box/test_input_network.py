"""The input pi: published pi rows, and the ladder against nodal equations written here."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.box.input_network import InputParts, input_ladder, pi_for
from netsim.solvers import batch, two_port

# The same rows as the output's: a 1999 posting that quotes the handbooks, 2000 to 50 ohm, 7.00 MHz, Q 10; and the ARRL
# Handbook of 1947, 14 MHz, Q 10, 50 ohm, read off graphs: 3 %, 8 %, 4 %.
ROWS = [
    (2000.0, 7.0e6, 114e-12, 5.06e-6, 562e-12, (0.005, 0.005, 0.005)),
    (1000.0, 14e6, 112e-12, 1.4e-6, 460e-12, (0.03, 0.04, 0.08)),
    (2000.0, 14e6, 56e-12, 2.5e-6, 275e-12, (0.03, 0.04, 0.08)),
    (3000.0, 14e6, 37e-12, 3.6e-6, 175e-12, (0.03, 0.04, 0.08)),
]


@pytest.mark.parametrize(("source", "frequency", "first", "coil", "second", "within"), ROWS)
def test_published_rows(source, frequency, first, coil, second, within):
    found = pi_for(source, np.array([1 / 50 + 0j]), np.array([frequency]), 10.0)
    for value, wanted, tolerance in zip(
        found, (coil, first, second), (within[1], within[0], within[2]), strict=True
    ):
        assert float(value[0]) == pytest.approx(wanted, rel=tolerance)


loads = st.builds(complex, st.floats(20, 400), st.floats(-80, 80))


@given(loads, st.floats(1e6, 30e6), st.floats(2, 6))
def test_a_designed_pi_matches(load, frequency, q):
    # Derived: nodal equations of the lossless circuit by numpy's own solver.
    admittance = 1 / load
    if 50 * admittance.real >= q**2 + 1:
        return
    coil, source, tube = (float(v[0]) for v in pi_for(50.0, np.array([admittance]), np.array([frequency]), q))
    omega = 2 * np.pi * frequency
    series = 1 / (1j * omega * coil)
    matrix = np.array(
        [[1j * omega * source + series, -series], [-series, series + 1j * omega * tube + admittance]]
    )
    seen = np.linalg.solve(matrix, np.array([1.0, 0.0]))[0]
    assert abs(seen - 50) < 1e-6 * 50
    assert 50 * omega * source == pytest.approx(q, rel=1e-12)


@given(loads, st.floats(1e6, 30e6), st.floats(0.1e-6, 5e-6), st.floats(10, 400), st.floats(1e-6, 1e-4))
def test_solvers_agree_with_nodal_equations(load, frequency, coil, q, choke):
    column = np.ones(1)
    parts = InputParts(
        frequency=frequency * column,
        tube_impedance=load * np.ones(1, dtype=np.complex128),
        input_capacitance=30e-12 * column,
        heater_choke=choke * column,
        coil=coil * column,
        coil_q=q * column,
        source_capacitor=700e-12 * column,
        tube_capacitor=500e-12 * column,
    )
    omega = 2 * np.pi * frequency
    series = 1 / (omega * coil / q + 1j * omega * coil)
    far = 1j * omega * 530e-12 + 1 / (1j * omega * choke) + 1 / load
    matrix = np.array([[1j * omega * 700e-12 + series, -series], [-series, series + far]])
    wanted = np.linalg.solve(matrix, np.array([1.0, 0.0]))
    for solver in (batch, two_port):
        found = solver.solve(input_ladder(parts), np.ones(1))
        assert found.node_voltage["exciter"][0, 0] == pytest.approx(wanted[0], rel=1e-9)
        assert found.node_voltage["tube"][0, 0] == pytest.approx(wanted[1], rel=1e-9)


def test_without_a_pi_the_exciter_is_at_the_tube():
    column = np.ones(1)
    parts = InputParts(
        14e6 * column, 60 * np.ones(1, dtype=np.complex128), 0 * column, np.inf * column, *[0 * column] * 4
    )
    found = batch.solve(input_ladder(parts), np.ones(1))
    assert found.node_voltage["tube"][0, 0] == pytest.approx(60.0, rel=1e-12)
