import copy
import json
import re
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from netsim.description.limited import has_limits, parse_limited
from netsim.description.schema import SCHEMA_PATH, build_schema, render_schema
from netsim.description.units import parse_quantity

SCHEMA = build_schema()
UNITS = {
    "V": ("Stage", "plate_voltage"),
    "A": ("Stage", "plate_current"),
    "deg": ("Stage", "conduction_angle"),
    "W": ("Stage", "dissipation_rating"),
    "ohm": ("Antenna", "resistance"),
    "F": ("VariableCapacitor", "minimum"),
    "m": ("WindingSection", "conductor_diameter"),
    "K/W": ("HeatPathItem", "thermal_resistance"),
    "H": ("Band", "coil"),
    "VA": ("Padding", "reactive_power_rating"),
    "dB": ("Limits", "harmonic_level"),
}


def pattern(unit):
    table, key = UNITS[unit]
    return SCHEMA["$defs"][table]["properties"][key]["pattern"]


@pytest.fixture(scope="module")
def validator():
    return Draft202012Validator(json.loads(SCHEMA_PATH.read_text(encoding="utf-8")))


def test_the_kept_file_is_what_the_models_generate():
    assert SCHEMA_PATH.read_text(encoding="utf-8") == render_schema(), (
        "run python -m netsim.description.schema"
    )


def test_it_is_a_schema_and_names_its_dialect():
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_it_accepts_the_example(validator, plain_text):
    assert list(validator.iter_errors(tomllib.loads(plain_text))) == []


def parse(text, unit):
    return parse_limited(text, unit) if has_limits(text) else parse_quantity(text, unit)


def broken(table):
    def put(*path_and_value):
        changed = copy.deepcopy(table)
        *steps, last, value = path_and_value
        here = changed
        for step in steps:
            here = here[step]
        if value is None:
            del here[last]
        else:
            here[last] = value
        return changed

    yield "no stage", put("stage", None)
    yield "bare number", put("stage", "plate_voltage", 2600)
    yield "bare number in quotes", put("stage", "plate_voltage", "2600")
    yield "comma", put("stage", "plate_voltage", "2,6 kV")
    yield "other unit", put("stage", "plate_voltage", "2.6 kA")
    yield "both", put("stage", "plate_load", "2.8 kohm")
    yield "neither", put("stage", "minimum_plate_voltage", None)
    yield "negative", put("stage", "plate_voltage", "-2.6 kV")
    yield "positive level", put("limits", "harmonic_level", "43 dB")
    yield "q in quotes", put("network", "coil", "q", "300")
    yield "q too low", put("network", "coil", "q", 1)
    yield "unknown key", put("network", "coil", "turns", 12)
    yield "topology", put("network", "topology", "L")
    yield "pi-L without coils", put("network", "topology", "pi-L")
    yield "pi with output coil", put("bands", 0, "output_coil", "4 uH")
    yield "tune alone", put("bands", 0, "tune", "95 pF")
    yield "no bands", put("bands", [])
    yield "no frequencies", put("bands", 0, "frequencies", [])
    yield "window of three", put("limits", "loaded_q", [1, 2, 3])


def test_it_refuses_mistakes(validator, plain_text):
    for label, table in broken(tomllib.loads(plain_text)):
        assert not validator.is_valid(table), label


def test_it_accepts_a_pi_l(validator, plain_text):
    table = tomllib.loads(plain_text)
    table["network"] |= {"topology": "pi-L", "output_coil": {"q": 250}}
    for band in table["bands"]:
        band["output_coil"] = "4.2 uH"
    assert validator.is_valid(table)


def test_defaults_are_as_the_user_would_write_them():
    properties = SCHEMA["$defs"]["Antenna"]["properties"]
    assert properties["resistance"]["default"] == "50 ohm"
    assert SCHEMA["$defs"]["Limits"]["properties"]["harmonic_level"]["default"] == "-43 dB"
    assert SCHEMA["$defs"]["Limits"]["properties"]["loaded_q"]["default"] == [8.0, 20.0]
    assert SCHEMA["$defs"]["Stage"]["properties"]["drive_voltage_peak"]["default"] == "0 V"


def test_every_key_is_described_and_nothing_of_ours_is_left_over():
    for table in (SCHEMA, *SCHEMA["$defs"].values()):
        for key, value in table["properties"].items():
            assert value["description"], key
    assert '"range"' not in render_schema()
    assert '"unit"' not in render_schema()
    assert '"null"' not in render_schema()


@pytest.mark.parametrize("unit", ["V", "F", "m", "deg", "dB", "K/W"])
@settings(max_examples=20)
@given(data=st.data())
def test_whatever_the_pattern_allows_the_reader_can_parse(unit, data):
    text = data.draw(st.from_regex(pattern(unit), fullmatch=True).filter(lambda text: len(text) < 60))
    text = text.rstrip("\n")
    if re.search(r"[eE][+-]?[0-9]{3}", text) is None:  # exponents beyond floats are for the reader to refuse
        parse(text, unit)


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("V", "2.6 kV"),
        ("V", "2.6e3V"),
        ("A", "520 mA"),
        ("F", "1 \u00b5F"),
        ("F", "1 \u03bcF"),
        ("ohm", "2.83 k\u03a9"),
        ("ohm", "2.83 k\u2126"),
        ("ohm", "2.83 kohm"),
        ("deg", "195 deg"),
        ("deg", "195\u00b0"),
        ("VA", "20 kVA"),
        ("H", ".5 microhenry"),
        ("dB", "-43 dBc"),
        ("F", "30 mmf"),
        ("F", "30 uuF"),
        ("F", "320 pF +- 5 %"),
        ("F", "5 +- 2 pF"),
        ("F", "5 pF \u00b1 2 pF"),
        ("V", "2.6 kVDC +/- 3 %"),
        ("m", "14 AWG"),
        ("m", "#14"),
        ("m", "1 1/2 in"),
        ("m", "62 thou"),
        ("m", '2.5"'),
        ("K/W", "0.08 K/W"),
    ],
)
def test_the_patterns_take_the_usual_spellings(unit, text):
    table, key = UNITS[unit]
    assert Draft202012Validator(SCHEMA["$defs"][table]["properties"][key]).is_valid(text)
    parse(text, unit)
