"""Spellings of the trade.

Wire gauges: ASTM B258's table, inches to the printed digit (from memory); the definitions 0.0050 in at 36 and
0.4600 in at 4/0 are exact. The rest is derived: 1 in = 25.4 mm, prefixes are powers of ten.
"""

import pytest

from netsim.description.trade_units import wire_gauge
from netsim.description.units import parse_quantity
from netsim.errors import DescriptionError


@pytest.mark.parametrize(
    ("number", "inches", "digits"),
    [
        *[("36", 0.0050, 9), ("4/0", 0.4600, 9), ("0000", 0.4600, 9), ("10", 0.1019, 4), ("14", 0.0641, 4)],
        *[("18", 0.0403, 4), ("1", 0.2893, 4), ("0", 0.3249, 4), ("1/0", 0.3249, 4), ("00", 0.3648, 4)],
    ],
)
def test_wire_gauges(number, inches, digits):
    assert wire_gauge(number) / 25.4e-3 == pytest.approx(inches, abs=0.51 * 10**-digits)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("30 mmf", "F", 30e-12),
        ("30 MMFD", "F", 30e-12),
        ("30uuF", "F", 30e-12),
        ("30 \u00b5\u00b5F", "F", 30e-12),
        ("4 mfd", "F", 4e-6),
        ("7.1 Mc", "Hz", 7.1e6),
        ("7.1 Mc/s", "Hz", 7.1e6),
        ("7100 kc", "Hz", 7.1e6),
        ("62 thou", "m", 62 * 25.4e-6),
        ("62 mils", "m", 62 * 25.4e-6),
        ("1/4 in", "m", 6.35e-3),
        ("1 1/2 inch", "m", 38.1e-3),
        ("1-1/2 in", "m", 38.1e-3),
        ('2.5"', "m", 63.5e-3),
        ("2 inches", "m", 50.8e-3),
        ("14 AWG", "m", 1.628e-3),
        ("#14", "m", 1.628e-3),
        ("#14 AWG", "m", 1.628e-3),
        ("AWG 14", "m", 1.628e-3),
        ("awg14", "m", 1.628e-3),
        ("2.6 kVDC", "V", 2600),
        ("2.6 kV DC", "V", 2600),
        ("2600 VDC", "V", 2600),
        ("520 mA dc", "A", 0.52),
        ("0.52 amps", "A", 0.52),
        ("2600 volts", "V", 2600),
        ("50 ohms", "ohm", 50),
        ("2.7 kilohms", "ohm", 2700),
        ("1 megohm", "ohm", 1e6),
        ("10 microhenries", "H", 10e-6),
        ("0.08 K/W", "K/W", 0.08),
        ("0.08 \u00b0C/W", "K/W", 0.08),
        ("25 cm^2", "m^2", 25e-4),
        ("4 in\u00b2", "m^2", 4 * 0.0254**2),
        ("24 W/(m K)", "W/(m K)", 24),
        ("24 W/m/K", "W/(m K)", 24),
        ("180 J/K", "J/K", 180),
        ("20 A^2 s", "A^2 s", 20),
        ("2 min", "s", 120),
        ("1.5 kJ", "J", 1500),
    ],
)
def test_what_is_unambiguous_is_understood(text, unit, value):
    assert parse_quantity(text, unit) == pytest.approx(
        value, rel=2e-4 if "AWG" in text.upper() or "#" in text else 1e-14, abs=0
    )


@pytest.mark.parametrize(
    ("text", "unit", "code", "words"),
    [
        ("30 pf", "F", "unit_unknown", "did you mean pF?"),
        ("30 PF", "F", "unit_unknown", "did you mean pF?"),
        ("8 mf", "F", "unit_unknown", "uF (microfarad, often mfd on old parts) or pF"),
        ("14 SWG", "m", "unit_unknown", "only the American"),
        ("2.6 kV peak", "V", "not_a_number", "peak or rms is the key's to say"),
        ("2.6 kVrms", "V", "not_a_number", "peak or rms"),
        ("1/0 in", "m", "not_a_number", "write"),
        ("0.08", "K/W", "unit_missing", '"0.08 K/W"'),
        ("0.08 W/K", "K/W", "not_a_number", "write"),
        ("3 K", "K/W", "unit_unknown", "a thermal resistance is wanted"),
        ("1e999 mmf", "F", "not_a_number", "too large"),
        ("5 mm", "H", "wrong_dimension", "an inductance is wanted"),
        ("5 mm", "m^2", "unit_unknown", "an area is wanted"),
    ],
)
def test_what_is_not_is_answered(text, unit, code, words):
    with pytest.raises(DescriptionError) as caught:
        parse_quantity(text, unit)
    (problem,) = caught.value.problems
    assert problem.code == code
    assert words in problem.message


def test_a_fraction_belongs_to_an_inch():
    with pytest.raises(DescriptionError):
        parse_quantity("1/4 mm", "m")
