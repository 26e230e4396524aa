"""Preferred numbers of IEC 60063, alone and two in parallel."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.preferred_values import E24, E96, around, fitting, nearest, step_up

# IEC 60063, series E24; published. E96: first decade's tens and hundreds that the standard's table prints.
PRINTED_E24 = (
    "1.0 1.1 1.2 1.3 1.5 1.6 1.8 2.0 2.2 2.4 2.7 3.0 3.3 3.6 3.9 4.3 4.7 5.1 5.6 6.2 6.8 7.5 8.2 9.1"
)
PRINTED_E96 = (
    "1.00 1.02 1.05 1.07 1.10 1.13 1.15 1.18 1.21 1.24 1.27 1.30 1.33 1.37 1.40 1.43 1.47 1.50 1.54 1.58 1.62 1.65 "
    "1.69 1.74 1.78 1.82 1.87 1.91 1.96 2.00 2.05 2.10 2.15 2.21 2.26 2.32 2.37 2.43 2.49 2.55 2.61 2.67 2.74 2.80 "
    "2.87 2.94 3.01 3.09 3.16 3.24 3.32 3.40 3.48 3.57 3.65 3.74 3.83 3.92 4.02 4.12 4.22 4.32 4.42 4.53 4.64 4.75 "
    "4.87 4.99 5.11 5.23 5.36 5.49 5.62 5.76 5.90 6.04 6.19 6.34 6.49 6.65 6.81 6.98 7.15 7.32 7.50 7.68 7.87 8.06 "
    "8.25 8.45 8.66 8.87 9.09 9.31 9.53 9.76"
)


def test_series_are_those_of_the_standard():
    assert tuple(float(value) for value in PRINTED_E24.split()) == E24
    assert tuple(float(value) for value in PRINTED_E96.split()) == E96


@given(st.floats(1e-3, 1e7), st.sampled_from([E24, E96]))
def test_no_value_of_the_series_is_nearer(wanted, series):
    found = nearest(wanted, series)
    decades = [value * 10.0**power for power in range(-4, 9) for value in series]
    assert max(found / wanted, wanted / found) <= min(max(v / wanted, wanted / v) for v in decades) * (
        1 + 1e-6
    )


@given(st.floats(0.2, 5e6))
def test_two_in_parallel_are_the_nearest_of_all_pairs(wanted):
    # Brute force over two decades, from below what is wanted.
    found = fitting(wanted, E24)
    decade = 10.0 ** (len(str(int(wanted))) - 1) if wanted >= 1 else 0.1
    values = [value * decade * 10.0**power for power in (0, 1) for value in E24]
    pairs = [1 / (1 / a + 1 / b) for a, b in itertools.combinations_with_replacement(values, 2)]
    best = min(abs(pair / wanted - 1) for pair in pairs)
    assert found.error == pytest.approx(found.resistance / wanted - 1, abs=1e-12)
    assert 1 / sum(1 / value for value in found.values) == pytest.approx(found.resistance, rel=1e-9)
    if len(found.values) == 2:
        assert abs(found.error) <= best * (1 + 1e-6) + 1e-9
    else:
        assert abs(found.error) <= 1e-3 or abs(found.error) <= best + 1e-9


def test_the_next_value_up_and_the_values_around():
    assert step_up(16.1, E24) == 18.0
    assert step_up(16.0, E24) == 16.0
    assert step_up(9.2e3, E24) == 10e3
    assert around(1.05, E24) == (0.91, 1.0, 1.1, 1.2)
