"""The measure of agreement itself. Derived: by hand on two numbers."""

import numpy as np
import pytest

from netsim.solvers.agreement import TOLERANCE, worst_relative, worst_voltage
from netsim.solvers.solution import Solution


def solution(volts, amperes) -> Solution:
    def shaped(values):
        return {str(k): np.array([[complex(v)]]) for k, v in enumerate(values)}

    return Solution(np.ones(1), shaped(volts), shaped(amperes))


@pytest.mark.parametrize(
    ("volts", "amperes", "expected"),
    [
        ((1.0, 2.0), (1.0,), 0.0),
        ((1.001, 2.0), (1.0,), 0.001 / 1.001),
        ((1.0, 2.0), (0.9,), 0.1),
        # Against the larger of the two, whichever solver has it.
        ((0.5, 2.0), (1.0,), 0.5),
        # A phase counts as much as a magnitude.
        ((1j, 2.0), (1.0,), np.sqrt(2)),
    ],
)
def test_largest_of_all(volts, amperes, expected):
    one, other = solution(volts, amperes), solution((1.0, 2.0), (1.0,))
    assert worst_relative(one, other) == pytest.approx([expected])
    assert worst_relative(other, one) == pytest.approx([expected])


def test_what_is_next_to_nothing_is_held_against_the_largest_of_its_kind():
    # 1e-13 against 2e-13 where 2 V is the largest: 1e-13 / (1e-9 x 2).
    one, other = solution((1e-13, 2.0), (1.0,)), solution((2e-13, 2.0), (1.0,))
    assert worst_relative(one, other) == pytest.approx([5e-5])
    # Currents have their own scale.
    one, other = solution((2.0,), (1e-13, 1.0)), solution((2.0,), (2e-13, 1.0))
    assert worst_relative(one, other) == pytest.approx([1e-4])
    assert worst_voltage(one, other) == pytest.approx([0.0])


def test_orders_and_networks_are_kept_apart():
    volts = np.array([[1.0, 1e-12], [1.0, 1.0]], dtype=complex)
    one = Solution(np.ones(2), {"a": volts}, {"b": volts})
    other = Solution(np.ones(2), {"a": volts * [[1, 1.01], [1, 1]]}, {"b": volts})
    # The small one is alone at its order, so nothing excuses it.
    assert worst_relative(one, other) == pytest.approx([0.01 / 1.01, 0.0])


def test_different_ladders_are_not_compared():
    with pytest.raises(ValueError, match="not of the same ladder"):
        worst_relative(solution((1.0,), (1.0,)), solution((1.0, 2.0), (1.0,)))


def test_tolerance():
    # Derived: solvers agree to 1e-9 and better, so 1e-6 is neither noise nor a free pass.
    assert TOLERANCE == 1e-6
