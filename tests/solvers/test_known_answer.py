"""The doctor's circuit: derived in the module, met by every solver, missed by a wrong one."""

import pytest

from netsim.solvers import known_answer


@pytest.mark.parametrize("solver", ["spice", "two_port", "batch"])
def test_every_solver_meets_it(solver):
    found = known_answer.solve(solver)
    assert found == pytest.approx(500.0, rel=1e-9)
    assert known_answer.error(found) <= known_answer.TOLERANCE


def test_a_millionth_is_too_much():
    assert known_answer.error(500.0 * (1 + 1e-6)) > known_answer.TOLERANCE
