"""The pared-down batch solver against the whole one and the two-port: it shares no arithmetic with either."""

import numpy as np
import pytest
from hypothesis import given
from samples import network, networks

from netsim.circuit.topology import build_ladder
from netsim.solvers import batch, two_port
from netsim.solvers.transfer import transfer

ORDERS = np.arange(1.0, 11.0)


@given(networks())
def test_both_ends_are_those_of_the_whole_solution(parts):
    """Cross-solver, random networks."""
    ladder = build_ladder(parts, parts.tune_maximum, parts.load_minimum)
    ends, whole = transfer(ladder, ORDERS), batch.solve(ladder, ORDERS)
    np.testing.assert_allclose(ends.plate_impedance, whole.plate_impedance, rtol=1e-9)
    np.testing.assert_allclose(ends.antenna_current, whole.branch_current["antenna"], rtol=1e-9)


@pytest.mark.parametrize("count", [1, 1024, 1025, 2500])
def test_blocks_join_without_a_seam(count):
    parts = network(
        coil=np.linspace(4e-6, 6e-6, count), coil_q=250.0, blocking_capacitance=1e-9, blocking_q=900.0
    )
    ladder = build_ladder(parts, np.array([1.1e-10]), np.array([5.6e-10]))
    ends, whole = transfer(ladder, ORDERS), two_port.solve(ladder, ORDERS)
    np.testing.assert_allclose(ends.plate_impedance, whole.plate_impedance, rtol=1e-9)
    np.testing.assert_allclose(ends.antenna_current, whole.branch_current["antenna"], rtol=1e-9)
