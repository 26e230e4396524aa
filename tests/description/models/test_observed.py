"""What instruments showed; derived: R + jX by its own words."""

import pytest
from pydantic_core import PydanticCustomError

from netsim.description.models.observed import parse_impedance


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("47 - 6j ohm", 47 - 6j),
        ("47 + j6 ohm", 47 + 6j),
        ("47+j6ohm", 47 + 6j),
        ("47 -6i ohms", 47 - 6j),
        ("47 - j 6.5 \u03a9", 47 - 6.5j),
        ("47 ohm", 47),
        ("0.047 - 0.006j kohm", 47 - 6j),
        ("(47 - 6j) ohm", 47 - 6j),
        ("-6j ohm", -6j),
        ("j6 ohm", 6j),
        ("4.7e1 - .6e1j ohm", 47 - 6j),
    ],
)
def test_impedances(text, value):
    assert parse_impedance(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("47 - 6j", "bad_impedance", '"47 - 6j ohm"'),
        ("47 6j ohm", "bad_impedance", "write resistance"),
        ("47,5 ohm", "bad_impedance", "write resistance"),
        ("50 \u2220 -7 deg ohm", "bad_impedance", "write resistance"),
        ("-47 - 6j ohm", "bad_impedance", "negative resistance"),
        ("0 ohm", "bad_impedance", "must not be 0"),
        ("1e9 ohm", "bad_impedance", "1 Mohm"),
        ("47 - 6j pF", "wrong_dimension", "a resistance is wanted"),
        ("47 +- 5 % ohm", "bad_impedance", "uncertainty"),
        ("47 - 6j " + "ohm" * 100, "bad_impedance", "write resistance"),
    ],
)
def test_what_is_no_impedance(text, code, words):
    with pytest.raises(PydanticCustomError) as caught:
        parse_impedance(text)
    assert caught.value.type == code
    assert words in str(caught.value)
