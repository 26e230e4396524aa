"""Expected strings are derived: three significant digits and an SI prefix."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.description.formatting import format_quantity, scale_of
from netsim.description.units import parse_quantity


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (1.27e-10, "F", "127 pF"),
        (2830.0, "ohm", "2.83 kΩ"),
        (50.0, "ohm", "50.0 Ω"),
        (0.52, "A", "520 mA"),
        (10.6e-6, "H", "10.6 µH"),
        (7.1e6, "Hz", "7.1 MHz"),
        (14.35e6, "Hz", "14.35 MHz"),
        (21e6, "Hz", "21 MHz"),
        (999.6, "V", "1.00 kV"),
        (999.4, "V", "999 V"),
        (0.9996, "W", "1.00 W"),
        (-12.345, "V", "-12.3 V"),
        (20e3, "VA", "20.0 kVA"),
        (0.0, "V", "0 V"),
        (0.0, "1", "0"),
        (-0.0, "F", "0 F"),
        (6.82e-13, "W", "0 W"),
        (-4.77e-10, "ohm", "0 Ω"),
        (0.5e-12, "F", "0.500 pF"),
        (3e15, "W", "3000 TW"),
        (-43.04, "dB", "-43.0 dB"),
        (12.0, "1", "12.0"),
        (0.9, "1", "0.900"),
        (12345.0, "1", "12300"),
        (195.0, "deg", "195°"),
        (None, "V", "–"),
        (math.nan, "V", "–"),
        (math.inf, "ohm", "∞ Ω"),
        (-math.inf, "1", "-∞"),
    ],
)
def test_format(value, unit, text):
    assert format_quantity(value, unit) == text


def test_trimmed_digits_and_separator():
    assert format_quantity(2600.0, "V", trim=True) == "2.6 kV"
    assert format_quantity(100.0, "V", trim=True) == "100 V"
    assert format_quantity(0.0, "V", trim=True) == "0 V"
    assert format_quantity(-43.0, "dB", trim=True) == "-43 dB"
    assert format_quantity(2601.5, "V", digits=6, trim=True) == "2.6015 kV"
    assert format_quantity(2600.0, "V", separator="\u202f") == "2.60\u202fkV"


@given(
    st.floats(min_value=2e-3, max_value=1e12),
    st.sampled_from(["V", "A", "W", "VA", "F", "H", "Hz", "ohm"]),
    st.booleans(),
)
def test_what_is_printed_reads_back_to_three_digits(value, unit, trim):
    value *= {"F": 1e-10, "H": 1e-9, "A": 1e-6}.get(unit, 1.0)
    assert parse_quantity(format_quantity(value, unit, trim=trim), unit) == pytest.approx(
        value, rel=5.1e-3, abs=0
    )


@pytest.mark.parametrize(
    ("value", "unit", "scale", "name"),
    [
        (1.27e-10, "F", 1e-12, "pF"),
        (2830.0, "ohm", 1e3, "kΩ"),
        (999.6, "V", 1e3, "kV"),
        (0.0, "H", 1.0, "H"),
        (250.0, "1", 1.0, ""),
        (80.0, "degC", 1.0, "°C"),
    ],
)
def test_the_scale_is_that_of_the_written_value(value: float, unit: str, scale: float, name: str) -> None:
    assert scale_of(value, unit) == (pytest.approx(scale), name)
    assert format_quantity(value, unit).endswith(name)
