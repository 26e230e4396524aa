import re

import numpy as np
import pytest

from netsim.report.figures.region import outline


def polygons(path):
    return [
        np.array([[float(n) for n in point.split()] for point in shape.split("L")])
        for shape in re.findall(r"M([^Z]*)Z", path)
    ]


def area(polygon):
    """Give the area of a closed outline (derived: trapezoid formula)."""
    x, y = polygon.T
    return abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2


def test_a_disc_has_its_area():
    x, y = np.linspace(0, 200, 101), np.linspace(0, 200, 101)
    field = 60.0 - np.hypot(x[None, :] - 100, y[:, None] - 100)
    (disc,) = polygons(outline(field, x, y))
    assert area(disc) == pytest.approx(np.pi * 60**2, rel=0.005)
    assert np.hypot(*(disc - 100).T) == pytest.approx(60, abs=2.5)


def test_ends_of_runs_lie_between_rows():
    x, y = np.array([0.0, 10.0, 20.0]), np.array([0.0, 10.0, 20.0, 30.0])
    field = np.array([[-1.0], [3.0], [1.0], [-3.0]]) * np.ones(3)
    (band,) = polygons(outline(field, x, y))
    assert sorted(set(band[:, 1])) == [2.5, 22.5]
    assert (band[:, 0].min(), band[:, 0].max()) == (0, 20)


def test_two_islands_above_each_other_stay_apart():
    x, y = np.arange(5.0), np.arange(9.0)
    field = np.full((9, 5), -1.0)
    field[1:3], field[6:8] = 1.0, 1.0
    assert len(polygons(outline(field, x, y))) == 2


def test_a_region_that_splits_is_told_in_stretches_without_a_gap():
    x, y = np.arange(4.0), np.arange(9.0)
    field = np.ones((9, 4))
    field[4, 2:] = -1.0
    shapes = polygons(outline(field, x, y))
    assert len(shapes) == 3
    assert shapes[0][:, 0].max() == shapes[1][:, 0].min() == 1.5


def test_a_drawing_turned_upside_down_is_the_same():
    x, y = np.arange(6.0), np.linspace(100.0, 0.0, 11)
    field = np.where(np.arange(11)[:, None] > 4, 1.0, -1.0) * np.ones(6)
    (band,) = polygons(outline(field, x, y))
    assert (band[:, 1].min(), band[:, 1].max()) == (0, 55)


def test_what_is_not_known_is_left_out():
    field = np.full((4, 4), np.nan)
    assert outline(field, np.arange(4.0), np.arange(4.0)) == ""
