"""Examples of the Touchstone File Format Specification, Rev. 1.1 (EIA/IBIS Open Forum, 2002); from memory."""

import numpy as np
import pytest

from netsim.description.touchstone import parse

ONE_PORT = """!1-port S-parameter file, single frequency point
# MHz S MA R 50
!freq magS11 angS11
2.000 0.894 -12.136
"""

TWO_PORT = """!2-port S-parameter file, three frequency points
# GHz S RI R 50.0
!freq ReS11 ImS11 ReS21 ImS21 ReS12 ImS12 ReS22 ImS22
1.0000 0.3926 -0.1211 -0.0003 -0.0021 -0.0003 -0.0021 0.3926 -0.1211
2.0000 0.3517 -0.3054 -0.0096 -0.0298 -0.0096 -0.0298 0.3517 -0.3054
10.000 0.3419 0.3336 -0.0134 0.0379 -0.0134 0.0379 0.3419 0.3336
"""


def test_one_port():
    found = parse(ONE_PORT, "example.s1p", 1)
    assert found.frequency.tolist() == [2e6]
    assert found.reference == 50
    assert abs(found.scattering[0, 0, 0]) == pytest.approx(0.894)
    assert np.degrees(np.angle(found.scattering[0, 0, 0])) == pytest.approx(-12.136)


def test_two_ports():
    found = parse(TWO_PORT, "example.s2p", 2)
    assert found.frequency.tolist() == [1e9, 2e9, 10e9]
    assert found.scattering[1].tolist() == [
        [0.3517 - 0.3054j, -0.0096 - 0.0298j],
        [-0.0096 - 0.0298j, 0.3517 - 0.3054j],
    ]
    assert found.scattering[2, 1, 0] == -0.0134 + 0.0379j


def test_what_the_option_line_leaves_out():
    """By the specification: GHz, S parameters, magnitude and angle, 50 ohm."""
    found = parse("#\n1 0.5 90\n", "example.s1p", 1)
    assert (found.frequency[0], found.reference) == (1e9, 50)
    assert found.scattering[0, 0, 0] == pytest.approx(0.5j)
