"""How a value is held against its limit. Derived: the formulas of the verdict, worked by hand at the edges."""

import numpy as np
import pytest

from netsim.verdict.judged import (
    Check,
    Judged,
    fraction_of_level,
    fraction_of_match,
    fraction_of_window,
    judged,
    number,
)


def against(*used: float, **how: object) -> Judged:
    values = np.array(used)
    return judged(Check("code", "part", "quantity"), values, 1.0, "1", values, 0.9, ("key",), **how)


@pytest.mark.parametrize(
    ("used", "state"),
    [
        (None, "over"),
        (1.0000001, "over"),
        (1.0, "close"),
        (0.9000001, "close"),
        (0.9, "pass"),
        (0.0, "pass"),
        (-3.0, "pass"),
    ],
)
def test_states(used, state):
    assert against(np.nan if used is None else used).state(0) == state


@pytest.mark.parametrize(
    ("value", "used"), [(8.0, 1.0), (20.0, 1.0), (4.0, 2.0), (40.0, 2.0), (np.sqrt(160), np.sqrt(0.4))]
)
def test_window_of_8_to_20(value, used):
    assert fraction_of_window(np.array([value]), 8.0, 20.0) == pytest.approx([used])


@pytest.mark.parametrize("value", [0.0, -5.0, np.nan])
def test_window_and_range_have_no_fraction_of_what_is_not_positive(value):
    assert np.isnan(fraction_of_window(np.array([value]), 8.0, 20.0)).all()
    assert np.isnan(fraction_of_window(np.array([value]), np.array(10.0), np.array(200.0))).all()


@pytest.mark.parametrize(
    ("needed", "used"), [(100.0, 0.5), (250.0, 1.25), (5.0, 2.0), (10.0, 1.0), (200.0, 1.0)]
)
def test_range_of_10_to_200(needed, used):
    assert fraction_of_window(np.array([needed]), np.array(10.0), np.array(200.0)) == pytest.approx([used])


@pytest.mark.parametrize(("level", "used"), [(-43.0, 1.0), (-23.0, 10.0), (-63.0, 0.1), (-46.0, 0.70794578)])
def test_level_against_43(level, used):
    assert fraction_of_level(np.array(level), -43.0) == pytest.approx(used)


@pytest.mark.parametrize(("swr", "used"), [(1.0, 0.0), (1.25, 0.5), (1.5, 1.0), (3.0, 4.0)])
def test_match(swr, used):
    assert fraction_of_match(np.array([swr])) == pytest.approx([used])


def test_worst_row_is_the_highest_of_the_band_or_what_has_no_fraction():
    found = against(5.0, 0.2, 0.8, 0.4, np.nan)
    assert found.worst(np.array([1, 2, 3])) == 2
    assert found.worst(np.array([0, 1])) == 0
    assert found.worst(np.array([0, 4])) == 4


def test_of_networks_without_a_fraction_another_measure_tells_the_worst():
    found = against(np.nan, np.nan, 2.0, apart=np.array([3.0, 7.0, 9.0]))
    assert found.worst(np.arange(3)) == 1


def test_what_can_be_close_at_most_is_never_over_and_what_does_not_apply_is_neither():
    assert against(7.0, at_most="close").state(0) == "close"
    absent = against(7.0, applies=np.zeros(1, dtype=bool))
    assert (absent.over[0], absent.near[0]) == (False, False)


def test_numbers_for_the_result_are_finite_or_absent():
    assert number(np.float64(2.5)) == 2.5
    assert type(number(np.float64(2.5))) is float
    assert [number(v) for v in (np.nan, np.inf, -np.inf)] == [None, None, None]
