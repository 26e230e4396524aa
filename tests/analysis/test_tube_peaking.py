"""Peaking with the tube itself: the most output that any settings within the ranges give."""

import numpy as np
import pytest
from samples import TUBE, edited

import netsim


@pytest.mark.parametrize("coil", ["12 uH", "1.9 uH"])
def test_no_settings_within_the_ranges_give_more(plain, coil):
    """Brute force: the tube settled on a grid over both ranges."""
    text = edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0"), ('coil = "5.8 uH"', f'coil = "{coil}"'))
    amplifier = netsim.loads(text + TUBE)
    result = netsim.analyse(amplifier, band="40 m", engine="two-port", samples=1)
    point = result.bands[0].points[0]
    assert not point.tuned
    tune = np.geomspace(15e-12, 250e-12, 45)[:, np.newaxis]
    load = np.geomspace(30e-12, 1500e-12, 35)
    grid = netsim.networks(amplifier, "40 m", tune=tune, load=load)
    assert point.output_watt >= np.nanmax(grid.output) * (1 - 2e-3)
    assert 15e-12 <= point.tune_farad <= 250e-12
    assert 30e-12 <= point.load_farad <= 1500e-12
    there = netsim.networks(amplifier, "40 m", tune=point.tune_farad, load=point.load_farad)
    assert there.output == pytest.approx(point.output_watt, rel=1e-4)
