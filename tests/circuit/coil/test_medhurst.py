import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.coil.medhurst import (
    proximity_factor,
    reservations,
    self_capacitance,
    self_capacitance_is_measured,
    self_resonance,
)


def test_a_wire_alone_has_no_neighbours():
    # Published: by definition the factor is 1 at infinite spacing.
    assert proximity_factor(3.0, 1e9) == pytest.approx(1.0, abs=1e-6)


def test_halfway_between_nodes_is_the_geometric_mean():
    # Derived from the stated rule: d/p .55 lies halfway from .5 to .6; l/D 1.4 halfway from 1 to 2 in x/(1+x).
    assert proximity_factor(1.0, 1.0 / 0.55) == pytest.approx(np.sqrt(1.67 * 1.94), rel=1e-9)
    assert proximity_factor(1.4, 2.0) == pytest.approx(np.sqrt(1.67 * 1.74), rel=1e-9)


@given(length=st.floats(0.0, 100.0), spacing=st.floats(1.0, 12.0))
def test_between_nodes_the_factor_stays_between_them(length, spacing):
    rows = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, np.inf])
    columns = np.append(1.0 / (np.arange(10, 0, -1) / 10.0), 1e12)
    row = np.searchsorted(rows, length, side="right")
    column = np.searchsorted(columns, spacing, side="right")
    corners = proximity_factor(rows[[row - 1, row]][:, None], columns[[column - 1, column]])
    factor = proximity_factor(length, spacing)
    assert corners.min() * (1 - 1e-9) <= factor <= corners.max() * (1 + 1e-9)


@given(length=st.floats(0.01, 50.0), spacing=st.floats(1.0, 9.9))
def test_closer_turns_lose_more(length, spacing):
    assert proximity_factor(length, spacing) >= proximity_factor(length, spacing * 1.01)


def test_reservations_name_their_reason():
    told = reservations(
        np.array([20.0, 7.0, 20.0, 20.0, 20.0, 20.0]),
        np.array([1.0, 1.0, 1.0, 0.1, 11.0, 1.0]),
        np.array([2.0, 2.0, 12.0, 2.0, 2.0, 2.0]),
        np.array([80.0, 80.0, 80.0, 80.0, 80.0, 4.0]),
    )
    assert told.few_turns.tolist() == [False, True, False, False, False, False]
    assert told.wide_pitch.tolist() == [False, False, True, False, False, False]
    assert told.length.tolist() == [False, False, False, True, True, False]
    assert told.thin_conductor.tolist() == [False, False, False, False, False, True]
    assert told.any.tolist() == [False, True, True, True, True, True]


def test_self_capacitance_against_the_fit():
    # From memory: H = 0.1126 l/D + 0.08 + 0.27 sqrt(D/l) pF/cm, up to 7.6 % off the table near l/D 4.
    ratio = np.geomspace(0.1, 10.0, 50)
    fit = 0.1126 * ratio + 0.08 + 0.27 / np.sqrt(ratio)
    np.testing.assert_allclose(self_capacitance(0.01, 0.01 * ratio) * 1e12, fit, rtol=0.08)


def test_self_capacitance_beyond_the_table_goes_on_and_is_told():
    values = self_capacitance(0.01, 0.01 * np.array([0.05, 0.1, 10.0, 20.0])) * 1e12
    # Derived: the end slopes continued, .96^2 / .70 and 1.32^2 / .81.
    np.testing.assert_allclose(values, [0.96**2 / 0.70, 0.96, 1.32, 1.32**2 / 0.81], rtol=1e-12)
    ratio = np.array([0.05, 0.1, 10.0, 20.0])
    assert self_capacitance_is_measured(1.0, ratio).tolist() == [False, True, True, False]


def test_self_resonance():
    # Derived: 10 uH with 2.533 pF is 31.62 MHz.
    assert self_resonance(10e-6, 2.533e-12) == pytest.approx(31.62e6, rel=1e-3)
    assert self_resonance(10e-6, 0.0) == np.inf
