"""Dials: scipy's monotone cubic is the reference (cross-solver); both ways agree (derived)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from netsim.description.dial import Dial
from netsim.description.reader import loads
from netsim.errors import DescriptionError

TABLE = [(0, 12e-12), (25, 61e-12), (50, 130e-12), (100, 320e-12)]


def test_it_is_the_monotone_cubic_of_scipy():
    x, y = np.transpose(TABLE)
    figures = np.linspace(0, 100, 41)
    np.testing.assert_allclose(Dial(TABLE).capacitance(figures), PchipInterpolator(x, y)(figures), rtol=1e-14)
    assert Dial(TABLE).capacitance([[25, 50]]).shape == (1, 2)


@pytest.mark.parametrize(
    "table", [TABLE, TABLE[::-1], [(100 - d, c) for d, c in TABLE], [(-d, c) for d, c in TABLE]]
)
def test_the_points_of_the_table_are_met_whichever_way_it_runs(table):
    dial = Dial(table)
    figures, farads = np.transpose(table)
    np.testing.assert_allclose(dial.capacitance(figures), farads, rtol=1e-12)
    np.testing.assert_allclose(dial.figure(farads), figures, rtol=1e-9, atol=1e-9)


def test_outside_the_table_nothing_is_known():
    dial = Dial(TABLE)
    assert np.isnan(dial.figure([11.9e-12, 321e-12])).all()
    assert np.isnan(dial.capacitance([-0.1, 100.1])).all()


@st.composite
def tables(draw):
    steps = st.lists(st.floats(0.01, 50), min_size=1, max_size=8)
    figures = np.cumsum([0.0, *draw(steps)])
    farads = np.cumsum(
        [5.0, *draw(st.lists(st.floats(0.01, 200), min_size=len(figures) - 1, max_size=len(figures) - 1))]
    )
    return [(d, c * 1e-12) for d, c in zip(figures, farads[:: draw(st.sampled_from([1, -1]))], strict=True)]


@given(table=tables(), share=st.floats(0, 1))
def test_a_figure_comes_back_from_its_capacitance_and_the_curve_is_monotone(table, share):
    dial = Dial(table)
    figure = table[0][0] + share * (table[-1][0] - table[0][0])
    farads = dial.capacitance(figure)
    assert dial.capacitance(dial.figure(farads)) == pytest.approx(farads, rel=1e-9, abs=0)
    steps = np.diff(dial.capacitance(np.linspace(table[0][0], table[-1][0], 200)))
    assert (steps * np.sign(table[-1][1] - table[0][1]) >= -1e-20).all()


@pytest.mark.parametrize(
    ("dial", "code", "words"),
    [
        ('[[0, "12 pF"]]', "too_few_points", "two or more"),
        ('[[0, "12 pF"], [0, "20 pF"]]', "dial_order", "0 after 0"),
        ('[[0, "12 pF"], [5, "20 pF"], [4, "30 pF"]]', "dial_order", "4 after 5"),
        ('[[0, "12 pF"], [5, "20 pF"], [9, "20 pF"]]', "dial_order", "20 pF after 20 pF"),
        ('[[0, "12 pF"], [5, "9 pF"], [9, "20 pF"]]', "dial_order", "20 pF after 9 pF"),
        ('[[0, "12 pF"], [5, 20]]', "unit_missing", '"20 pF"'),
        ('[[0, "12 pF", 3], [5, "20 pF"]]', "wrong_length", "at most 2"),
        ('[[0], [5, "20 pF"]]', "wrong_length", "more"),
        ('[[0, "12 +- 1 pF"], [5, "20 pF"]]', "limits_not_allowed", "put the limits on minimum and maximum"),
        ("3", "wrong_type", 'dial = [[41.5, "139 pF"]]'),
    ],
)
def test_tables_that_are_none(plain_text, dial, code, words):
    text = plain_text.replace("[network.load_capacitor]", f"dial = {dial}\n[network.load_capacitor]")
    with pytest.raises(DescriptionError) as caught:
        loads(text)
    problem = caught.value.problems[0]
    assert problem.code == code
    assert problem.key.startswith("network.tune_capacitor.dial")
    assert words in problem.message
    assert f"dial = {dial}" in text.splitlines()[problem.line - 1]


def test_a_table_in_a_file(plain_text):
    text = plain_text.replace(
        "[network.load_capacitor]",
        'dial = [[100, "15 pF"], [50, "100 pF"], [0, "250 pF"]]\n[network.load_capacitor]',
    )
    dial = Dial(loads(text).description.network.tune_capacitor.dial)
    assert float(dial.figure(100e-12)) == pytest.approx(50, rel=1e-9, abs=0)
