"""Values with limits; derived: value less and plus the half-width."""

import math

import pytest

from netsim.description.limited import has_limits, parse_limited
from netsim.description.models import keys
from netsim.description.quantity import Measure
from netsim.errors import DescriptionError


@pytest.mark.parametrize(
    ("text", "unit", "low", "high"),
    [
        ("320 pF +- 5 %", "F", 304e-12, 336e-12),
        ("320pF+-5%", "F", 304e-12, 336e-12),
        ("320 pF \u00b1 5 %", "F", 304e-12, 336e-12),
        ("320 pF +/- 16 pF", "F", 304e-12, 336e-12),
        ("5 +- 2 pF", "F", 3e-12, 7e-12),
        ("5 \u00b1 2pF", "F", 3e-12, 7e-12),
        ("0.32 nF +- 16 pF", "F", 304e-12, 336e-12),
        ("250 +- 20 %", "1", 200, 300),
        ("250 +- 50", "1", 200, 300),
        ("-6 V +- 1 V", "V", -7, -5),
        ("-6 V +- 50 %", "V", -9, -3),
        ("60 +- 15 degC", "degC", 45, 75),
        ("180 deg +- 10 %", "deg", 0.9 * math.pi, 1.1 * math.pi),
        ("14 AWG +- 2 %", "m", 0.98 * 1.62773e-3, 1.02 * 1.62773e-3),
        ("30 mmf +- 3 mmf", "F", 27e-12, 33e-12),
    ],
)
def test_limits(text, unit, low, high):
    found = parse_limited(text, unit)
    assert found.low == pytest.approx(low, rel=1e-5, abs=0)
    assert found.high == pytest.approx(high, rel=1e-5, abs=0)
    assert found.nominal == pytest.approx((low + high) / 2, rel=1e-5, abs=0)


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [
        ("5 pF +- 2", "F", "bad_limits"),
        ("5 pF +-", "F", "bad_limits"),
        ("+- 2 pF", "F", "not_a_number"),
        ("5 pF +- 1 pF +- 2 pF", "F", "bad_limits"),
        ("5 pF +- -2 pF", "F", "bad_limits"),
        ("5 pF +- 2 uH", "F", "wrong_dimension"),
        ("5 +- 2", "F", "unit_missing"),
        ("60 degC +- 5 %", "degC", "bad_limits"),
        ("many +- 5 %", "1", "bad_limits"),
        ("250 +- few", "1", "bad_limits"),
        ("inf +- 5 %", "1", "bad_limits"),
        ("5 pF +- 1e999 %", "F", "bad_limits"),
        ("5,2 pF +- 5 %", "F", "comma_in_number"),
    ],
)
def test_what_is_no_limit(text, unit, code):
    assert has_limits(text)
    with pytest.raises(DescriptionError) as caught:
        parse_limited(text, unit)
    assert caught.value.problems[0].code == code


@pytest.mark.parametrize("text", ["320 pF", "-5 V", "1e-5 V", "1e+5 V", "5 - 2 pF"])
def test_what_has_none(text):
    assert not has_limits(text)


def test_a_measure_reads_the_value_and_says_where_no_limits_can_stand():
    (q,) = keys.UnloadedQ.__metadata__
    assert q.read("250 +- 20 %") == 250.0
    assert q.read("inf") == math.inf
    assert q.admit(math.inf) == math.inf
    (frequency,) = keys.BandHertz.__metadata__
    with pytest.raises(DescriptionError) as caught:
        frequency.read("7 MHz +- 1 %")
    assert caught.value.problems[0].code == "limits_not_allowed"
    assert "a frequency is chosen" in caught.value.problems[0].message
    with pytest.raises(DescriptionError):
        Measure("1", 0, 1, "0.5").read("inf")


def test_the_value_itself_must_be_plausible():
    with pytest.raises(DescriptionError) as caught:
        Measure("F", 0.5e-12, 50e-9, "250 pF").read("0.4 pF +- 0.2 pF")
    assert caught.value.problems[0].code == "out_of_range"
