"""Uncertainty, against guides and published figures.

JCGM 100:2008 (4.3.7), JCGM 101:2008 (7.7, 9.2.3), ISO 13528:2015 (9.7) and Saltelli's Ishigami example: from memory,
each agreeing with the calculation beside it.
"""

from importlib.resources import files

import numpy as np
import pytest
import scipy.interpolate

from netsim.advice.bench.comparison import half_width
from netsim.advice.fit.least_squares import PRIOR_DEVIATION
from netsim.analysis.uncertainty.draws import KEPT, drawn, kept_places, values_at
from netsim.analysis.uncertainty.shares import first_order_shares
from netsim.description.dial import Dial
from netsim.description.inputs import Input
from netsim.verdict.spread import quantile


def unknown(low, high, nominal=None, source="file"):
    middle = (low + high) / 2 if nominal is None else nominal
    return Input("network.coil.q", ("network", "coil", "q"), 1, middle, low, high, "1", source)


def test_even_limits_have_half_their_width_over_root_three():
    # JCGM 100:2008, 4.3.7.
    values = values_at([unknown(90.0, 110.0)], drawn([unknown(90.0, 110.0)], 4096))
    assert values.std() == pytest.approx(10 / np.sqrt(3), rel=1e-3)
    assert values.mean() == pytest.approx(100, rel=1e-4)
    assert pytest.approx(1 / np.sqrt(12)) == PRIOR_DEVIATION


def test_sum_of_four_even_inputs():
    """JCGM 101:2008, 9.2.3: four rectangular inputs of unit variance: u 2.00, 95 % interval +-3.88, Gaussian +-3.92."""
    inputs = [unknown(-np.sqrt(3), np.sqrt(3))] * 4
    total = values_at(inputs, drawn(inputs, 2**15)).sum(axis=1)
    assert total.std() == pytest.approx(2.00, abs=0.005)
    assert quantile(total, 0.025) == pytest.approx(-3.88, abs=0.02)
    assert quantile(total, 0.975) == pytest.approx(3.88, abs=0.02)
    assert half_width(total) == pytest.approx(3.88, abs=0.02)


def test_limits_of_one_ratio_are_drawn_evenly_in_the_logarithm():
    assumed = unknown(100.0, 400.0, 200.0, "assumed")
    logarithm = np.log(values_at([assumed], drawn([assumed], 1024)))
    assert np.median(np.exp(logarithm)) == pytest.approx(200, rel=1e-2)
    assert logarithm.std() == pytest.approx(np.log(4) / np.sqrt(12), rel=1e-2)


def test_first_order_shares_of_the_ishigami_function():
    """Saltelli et al.: sin x + 7 sin^2 y + 0.1 z^4 sin x on (-pi, pi): .3139, .4424, 0."""
    inputs = [unknown(-np.pi, np.pi)] * 3
    places = drawn(inputs, 4096)
    x, y, z = values_at(inputs, places).T
    values = np.sin(x) + 7 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)
    shares = first_order_shares(places, values[np.newaxis])[0]
    assert shares == pytest.approx([0.3139, 0.4424, 0.0], abs=0.01)


def test_shares_of_a_weighted_sum():
    # Derived: of independent inputs of one variance the shares go as the squares of the weights.
    inputs = [unknown(0.0, 1.0)] * 3
    places = drawn(inputs, 2048)
    shares = first_order_shares(places, (places @ [1.0, 2.0, 3.0])[np.newaxis])
    assert shares[0] == pytest.approx(np.array([1, 4, 9]) / 14, abs=5e-3)
    assert first_order_shares(places, np.full((1, 2048), 3.0)) == pytest.approx(np.zeros((1, 3)))


def test_every_share_of_the_limits_is_met_as_often():
    """Sobol' 1967: of 2^k points of the sequence each interval of length 2^-k of each input holds one."""
    places = drawn([unknown(0.0, 1.0)] * 5, 256)
    for column in places.T:
        assert sorted(np.floor(column * 256)) == list(range(256))


def test_kept_places_are_those_of_scipy():
    with (files("netsim.analysis.uncertainty") / KEPT).open("rb") as stream:
        assert np.array_equal(np.load(stream), kept_places())


def test_the_same_amplifiers_in_every_run():
    inputs = [unknown(1.0, 2.0)] * 4
    assert drawn(inputs, 512).tobytes() == drawn(inputs, 512).tobytes()


def test_a_dial_runs_as_scipy_interpolates():
    points = [(0, 12e-12), (25, 61e-12), (50, 130e-12), (100, 320e-12)]
    figures = np.linspace(0, 100, 41)
    curve = scipy.interpolate.PchipInterpolator(*np.array(points).T)
    assert Dial(points).capacitance(figures) == pytest.approx(curve(figures))
    assert Dial(points).figure(curve(figures)) == pytest.approx(figures, abs=1e-6)
