import re

import numpy as np
import pytest

from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart


@pytest.fixture
def frame():
    return Chart(Axis(1e6, 3e6, 1e6, "x / MHz"), Axis(1e2, 1e4, 1e3, "y / kΩ", logarithmic=True))


def test_places_go_from_edge_to_edge(frame):
    assert frame.across(np.array([1e6, 2e6, 3e6])) == pytest.approx(
        [chart.LEFT, (chart.LEFT + chart.RIGHT) / 2, chart.RIGHT]
    )
    # Derived: the geometric mean lies half-way on a logarithmic axis.
    assert frame.up(np.array([1e2, 1e3, 1e4])) == pytest.approx(
        [chart.BOTTOM, (chart.BOTTOM + chart.TOP) / 2, chart.TOP]
    )


def test_what_has_no_logarithm_lies_below(frame):
    assert frame.up(np.array([0.0, -5.0])) == pytest.approx(2 * chart.BOTTOM - chart.TOP)
    assert not frame.inside(100.0, float(frame.up(np.array(-5.0))))


@pytest.mark.parametrize(("low", "high"), [(30.0, 1300.0), (250.0, 330.0), (4.1, 9.9), (0.5, 20.0)])
def test_ticks_are_round_and_inside(low, high):
    for logarithmic in (True, False):
        axis = Axis(low * 1e-12, high * 1e-12, 1e-12, "C / pF", logarithmic)
        marks = np.array(axis.marks()) / 1e-12
        assert ((marks > low * 0.999) & (marks < high * 1.001)).all()
        assert len(marks) >= 2
        assert all(float(f"{mark:.2g}") == pytest.approx(mark) for mark in marks)


def test_labels_that_would_touch_are_left_out_and_their_lines_kept():
    frame = Chart(Axis(9e6, 11e6, 1e6, "x", ticks=(10.1e6, 10.15e6)), Axis(0, 1, 1, "y")).frame()
    assert "10.1<" in frame
    assert "10.15<" not in frame
    assert len(re.findall(r"M[\d.]+ 12V258", frame.split("/>")[0])) == 2


def test_a_drawing_has_title_description_and_escapes_both():
    drawn = chart.drawing("p", "<b>", "a & b", ['<path {clip} d="M0 0"/>'])
    assert '<title id="p-title">&lt;b&gt;</title>' in drawn
    assert "a &amp; b" in drawn
    assert 'clip-path="url(#p-field)"' in drawn
    assert '<clipPath id="p-field">' in drawn
