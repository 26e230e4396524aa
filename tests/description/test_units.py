"""The strict gate and the registry behind it. Expected values are derived: SI prefixes are powers of ten."""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.description.quantity import Measure
from netsim.description.units import KINDS, parse_quantity, registry
from netsim.errors import DescriptionError


def refusal(text, unit):
    with pytest.raises(DescriptionError) as caught:
        parse_quantity(text, unit)
    (problem,) = caught.value.problems
    return problem


def outcome(text, unit):
    """Give the value, or 0 and the problems."""
    try:
        return parse_quantity(text, unit), ()
    except DescriptionError as error:
        return 0.0, error.problems


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("2.6 kV", "V", 2600.0),
        ("2.6kV", "V", 2600.0),
        ("2.6e3 V", "V", 2600.0),
        ("+.5 kV", "V", 500.0),
        ("5. V", "V", 5.0),
        ("  380 V\t", "V", 380.0),
        ("380\u202fV", "V", 380.0),
        ("380\u00a0volts", "V", 380.0),
        ("520 mA", "A", 0.52),
        ("0.6 kW", "W", 600.0),
        ("20 kVA", "VA", 20e3),
        ("20 kvar", "VA", 20e3),
        ("95 pF", "F", 95e-12),
        ("7.1 pF", "F", 7.1e-12),
        ("1 nF", "F", 1e-9),
        ("0.001 \u00b5F", "F", 1e-9),
        ("0.001 \u03bcF", "F", 1e-9),
        ("10.6 uH", "H", 10.6e-6),
        ("10.6 microhenry", "H", 10.6e-6),
        ("7.1 MHz", "Hz", 7.1e6),
        ("2.83 kohm", "ohm", 2830.0),
        ("2.83 k\u03a9", "ohm", 2830.0),
        ("2.83 k\u2126", "ohm", 2830.0),
        ("50 ohms", "ohm", 50.0),
        ("180 deg", "deg", math.pi),
        ("180\u00b0", "deg", math.pi),
        ("1.5 rad", "deg", 1.5),
        ("-43 dB", "dB", -43.0),
        ("-43 dBc", "dB", -43.0),
        ("85 %", "1", 0.85),
        ("-5 V", "V", -5.0),
    ],
)
def test_accepted_spellings(text, unit, value):
    assert parse_quantity(text, unit) == pytest.approx(value, rel=1e-15, abs=0)


@pytest.mark.parametrize("number", ["95", "7.1", "1.27", "610", "0.3"])
def test_a_prefix_rounds_as_the_number_written_out_would(number):
    """Dividing by an exact power of ten is correctly rounded, so equal settings compare equal."""
    assert parse_quantity(f"{number} pF", "F") == float(f"{number}e-12")


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [
        ("7,1 MHz", "Hz", "comma_in_number"),
        ("1,500 V", "V", "comma_in_number"),
        ("250", "F", "unit_missing"),
        ("", "V", "not_a_number"),
        ("kV", "V", "not_a_number"),
        ("nan V", "V", "not_a_number"),
        ("inf V", "V", "not_a_number"),
        ("1e400 V", "V", "not_a_number"),
        ("2.6 k V", "V", "not_a_number"),
        ("2.6 kV 3", "V", "not_a_number"),
        ("1_000 V", "V", "not_a_number"),
        ("\uff12 V", "V", "not_a_number"),
        ("\u0662 V", "V", "not_a_number"),
        ("\u22125 V", "V", "not_a_number"),
        ("9**9**9 pF", "F", "not_a_number"),
        ("(1) pF", "F", "not_a_number"),
        ("1 V\n", "V", "not_a_number"),
        ("1 V/m", "V", "not_a_number"),
        ("1" * 100_000 + " V", "V", "not_a_number"),
        ("2 k", "ohm", "unit_unknown"),
        ("2 PF", "F", "unit_unknown"),
        ("2 lambda", "F", "unit_unknown"),
        ("2 nan", "F", "unit_unknown"),
        ("2 pH", "F", "wrong_dimension"),
        ("2 mm", "H", "wrong_dimension"),
        ("2 VA", "W", "wrong_dimension"),
        ("2 kW", "VA", "wrong_dimension"),
        ("2 rad", "Hz", "wrong_dimension"),
        ("85 %", "deg", "wrong_dimension"),
        ("43 V", "dB", "wrong_dimension"),
    ],
)
def test_refusals(text, unit, code):
    problem = refusal(text, unit)
    assert problem.code == code
    assert "write" in problem.message.lower() or "did you mean" in problem.message


def test_a_comma_is_refused_with_what_would_have_been_read():
    message = refusal("7,1 MHz", "Hz").message
    assert "'7,1 MHz'" in message
    assert "'71 MHz'" in message


def test_a_bare_number_is_told_its_unit():
    assert '"250 pF" or "250 nF"' in refusal("250", "F").message


def test_a_wrong_case_is_told_the_right_one():
    assert "did you mean mA?" in refusal("520 MA".lower(), "A").message
    assert "did you mean kohm?" in refusal("2 k", "ohm").message


def test_a_strange_character_is_named():
    assert "U+FF12" in refusal("\uff12 V", "V").message


@pytest.mark.parametrize(
    ("text", "hint"), [("7.1 mHz", "'7.1 MHz'"), ("-7.1 MHz", "'7.1 MHz'"), ("0 MHz", "")]
)
def test_a_range_catches_slips(text, hint):
    with pytest.raises(DescriptionError) as caught:
        Measure("Hz", 0.1e6, 60e6, "7.1 MHz").read(text)
    (problem,) = caught.value.problems
    assert problem.code == "out_of_range"
    assert "100 kHz to 60 MHz" in problem.message
    assert repr(text) in problem.message
    assert hint in problem.message


def test_a_positive_level_is_told_its_sign():
    with pytest.raises(DescriptionError, match="did you mean '-43 dB'"):
        Measure("dB", -200, -1, "-43 dB").read("43 dB")


def test_the_ends_of_a_range_belong_to_it():
    angle = Measure("deg", 30, 360, "195 deg")
    assert angle.read("360 deg") == pytest.approx(2 * math.pi, abs=0)
    assert angle.read("30 deg") == pytest.approx(math.pi / 6, abs=0)
    assert Measure("V", 0, 10, "1 V").read("0 V") == 0.0
    for bound in (math.pi / 6 * (1 - 1e-12), 2 * math.pi * (1 + 1e-12)):  # off by rounding only
        assert angle.admit(bound) == bound
    with pytest.raises(DescriptionError):
        angle.read("360.1 deg")


def test_every_usual_spelling_is_one_the_gate_takes():
    for unit, kind in KINDS.items():
        for spelling in kind.spellings:
            assert parse_quantity(f"1 {spelling}", unit) > 0.0


def test_the_definitions_agree_with_those_pint_ships():
    """Cross-check of our short list of definitions against the full registry of pint."""
    from pint import UnitRegistry

    full = UnitRegistry()
    for word in (
        "kV",
        "mA",
        "W",
        "VA",
        "pF",
        "uH",
        "MHz",
        "kohm",
        "deg",
        "mm",
        "inch",
        "ft",
        "hour",
        "tesla",
        "weber",
    ):
        ours = registry().Quantity(1.0, word).to_base_units().magnitude
        theirs = full.Quantity(1.0, word).to("degree" if word == "deg" else word).to_base_units().magnitude
        mass = 1000.0 ** registry().Quantity(1.0, word).dimensionality.get("[mass]", 0)
        assert ours == pytest.approx(theirs * mass, rel=1e-12, abs=0), word


def test_importing_the_description_does_not_import_pint():
    code = "import sys, netsim.description; print('pint' in sys.modules, 'tree_sitter' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


@given(st.text(), st.sampled_from([*KINDS, "dB"]))
def test_any_text_is_read_or_refused_with_one_problem(text, unit):
    value, problems = outcome(text, unit)
    assert math.isfinite(value)
    assert len(problems) <= 1


@given(st.from_regex(r"[0-9]{1,3} [A-Za-z]{1,12}", fullmatch=True), st.sampled_from([*KINDS, "dB"]))
def test_any_word_is_a_unit_or_refused(text, unit):
    value, problems = outcome(text, unit)
    assert math.isfinite(value)
    assert {problem.code for problem in problems} <= {"unit_unknown", "wrong_dimension"}
