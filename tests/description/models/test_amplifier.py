"""Models and the rules between their keys, built directly in SI floats and from tables as in a file."""

import copy
import math
import tomllib

import pytest
from pydantic import ValidationError

from netsim.description.models.amplifier import Band, Description, Limits, Network, Stage
from netsim.description.models.capacitors import VariableCapacitor
from netsim.description.models.coils import Coil
from netsim.description.quantity import FROM_FILE


def small(**changes):
    parts = {
        "stage": Stage(
            plate_voltage=2600, plate_current=0.52, conduction_angle=3.4, minimum_plate_voltage=380
        ),
        "network": Network(
            topology="pi",
            tune_capacitor=VariableCapacitor(minimum=15e-12, maximum=250e-12),
            load_capacitor=VariableCapacitor(minimum=30e-12, maximum=1500e-12),
            coil=Coil(q=300),
        ),
        "bands": (Band(name="40 m", frequencies=(7.1e6,), coil=5.8e-6),),
    }
    return Description(**{**parts, **changes})


def codes(error):
    return {(".".join(str(step) for step in detail["loc"]), detail["type"]) for detail in error.errors()}


def test_si_floats_are_taken_as_they_are_and_defaults_are_those_of_the_format():
    description = small()
    assert description.stage.plate_voltage == 2600.0
    assert description.stage.drive_voltage_peak == 0.0
    assert description.stage.output_capacitance is None
    assert description.antenna.resistance == 50.0
    assert description.antenna.worst_swr == 1.0
    assert description.limits == Limits(
        loaded_q=(8, 20), target_loaded_q=12, harmonic_level=-43, close_to_rating=0.9
    )
    assert description.bands[0].frequencies == (7.1e6,)


def test_strings_are_read_with_their_units():
    stage = Stage(
        plate_voltage="2.6 kV", plate_current="520 mA", conduction_angle="180 deg", plate_load="2.83 kohm"
    )
    assert stage.plate_voltage == 2600.0
    assert stage.conduction_angle == pytest.approx(math.pi, rel=1e-15)
    assert stage.plate_load == 2830.0


def test_models_are_frozen():
    with pytest.raises(ValidationError, match="frozen"):
        small().stage.plate_voltage = 1.0


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf, 10**400, True, None, [1], "380"])
def test_a_value_that_is_no_voltage_is_refused(value):
    with pytest.raises(ValidationError):
        Stage(plate_voltage=value, plate_current=0.52, conduction_angle=3.4, minimum_plate_voltage=38)


# The ranges that the format promises to admit, both ends of each.
ENDS = [
    ("stage.plate_voltage", "100 V", "20 kV"),
    ("stage.no_load_plate_voltage", "2.6 kV", "20 kV"),
    ("stage.plate_current", "1 mA", "20 A"),
    ("stage.conduction_angle", "30 deg", "360 deg"),
    ("stage.drive_voltage_peak", "0 V", "400 V"),
    ("stage.output_capacitance", "0 pF", "500 pF"),
    ("antenna.resistance", "1 ohm", "10 kohm"),
    ("antenna.worst_swr", 1, 100),
    ("limits.close_to_rating", 0.5, 1),
    ("limits.harmonic_level", "-80 dB", "-20 dB"),
    ("network.plate_choke.inductance", "1 uH", "50 mH"),
    ("network.plate_choke.q", 5, 1e5),
    ("network.blocking_capacitor.capacitance", "10 pF", "1 uF"),
    ("network.tune_capacitor.minimum", "0.5 pF", "250 pF"),
    ("network.load_capacitor.maximum", "30 pF", "50 nF"),
    ("network.tune_capacitor.stray", "0 pF", "100 pF"),
    ("network.coil.q", 5, 100000),
    ("network.output_choke.inductance", "1 uH", "50 mH"),
    ("bands.0.coil", "10 nH", "500 uH"),
    ("bands.1.load_padding", "0.5 pF", "50 nF"),
    ("bands.1.frequencies.0", "0.1 MHz", "60 MHz"),
]


def changed(text, path, value):
    """Give the table of a file with one key changed, or removed where the value is None."""
    table = copy.deepcopy(tomllib.loads(text))
    here = table
    *steps, last = (int(step) if step.isdigit() else step for step in path.split("."))
    for step in steps:
        here = here[step]
    if value is None:
        del here[last]
    else:
        here[last] = value
    return table


@pytest.mark.parametrize(("path", "low", "high"), ENDS)
def test_promised_ranges_are_admitted(plain_text, path, low, high):
    for end in (low, high):
        table = changed(plain_text, path, end)
        if path == "stage.plate_voltage":
            del table["stage"]["no_load_plate_voltage"]
            table["stage"]["minimum_plate_voltage"] = "20 V"
        Description.model_validate(table, context=FROM_FILE)


def test_the_promised_range_of_the_plate_load(plain_text):
    table = tomllib.loads(plain_text)
    del table["stage"]["minimum_plate_voltage"]
    for end in ("50 ohm", "50 kohm"):
        table["stage"]["plate_load"] = end
        Description.model_validate(table, context=FROM_FILE)


@pytest.mark.parametrize(
    ("path", "value", "place", "code"),
    [
        ("stage.plate_load", "2.83 kohm", "stage.plate_load", "conflict"),
        ("stage.minimum_plate_voltage", None, "stage", "missing_key"),
        ("stage.minimum_plate_voltage", "2.6 kV", "stage.minimum_plate_voltage", "conflict"),
        ("stage.minimum_plate_voltage", "0 V", "stage.minimum_plate_voltage", "out_of_range"),
        ("stage.no_load_plate_voltage", "2.5 kV", "stage.no_load_plate_voltage", "conflict"),
        ("stage.drive_voltage_peak", "-1 V", "stage.drive_voltage_peak", "out_of_range"),
        ("limits.loaded_q", [20, 8], "limits.loaded_q", "conflict"),
        ("limits.loaded_q", [8, 8], "limits.loaded_q", "conflict"),
        ("limits.target_loaded_q", 0, "limits.target_loaded_q", "out_of_range"),
        ("limits.harmonic_level", "43 dB", "limits.harmonic_level", "out_of_range"),
        ("network.topology", "pi-L", "network.output_coil", "missing_key"),
        ("network.output_coil", {"q": 200}, "network.output_coil", "conflict"),
        ("network.tune_capacitor.minimum", "251 pF", "network.tune_capacitor.minimum", "conflict"),
        ("bands.1.output_coil", "4 uH", "bands.1.output_coil", "conflict"),
        ("bands.1.tune", "95 pF", "bands.1.tune", "conflict"),
        ("bands.1.load", "95 pF", "bands.1.load", "conflict"),
        ("bands.2.name", "80 m", "bands.2.name", "duplicate_name"),
        ("bands.2.name", "80\nm", "bands.2.name", "bad_text"),
        ("bands.2.name", " ", "bands.2.name", "bad_text"),
        ("bands.2.frequencies", [], "bands.2.frequencies", "too_short"),
        ("bands.2.frequencies", ["99 kHz"], "bands.2.frequencies.0", "out_of_range"),
        ("bands.2.frequencies", ["60.1 MHz"], "bands.2.frequencies.0", "out_of_range"),
        ("bands", [], "bands", "too_short"),
    ],
)
def test_each_rule_between_keys(plain_text, path, value, place, code):
    with pytest.raises(ValidationError) as caught:
        Description.model_validate(changed(plain_text, path, value), context=FROM_FILE)
    assert (place, code) in codes(caught.value)
    # pydantic counts only items that passed, so it adds too_short for an array whose items all failed
    assert {error_place for error_place, error_code in codes(caught.value) if error_code != "too_short"} <= {
        place
    }


def test_settings_are_held_to_the_range_of_their_parts(plain_text):
    table = changed(plain_text, "bands.1.tune", "15 pF")
    table["bands"][1]["load"] = "1.5 nF"
    assert Description.model_validate(table, context=FROM_FILE).bands[1].load == 1.5e-9
    table["bands"][1] |= {"tune": "14.9 pF", "load": "1.51 nF"}
    with pytest.raises(ValidationError) as caught:
        Description.model_validate(table, context=FROM_FILE)
    assert codes(caught.value) == {("bands.1.tune", "out_of_range"), ("bands.1.load", "out_of_range")}


def test_a_pi_l_has_an_output_coil_in_the_network_and_in_every_band(plain_text):
    table = changed(plain_text, "network.topology", "pi-L")
    table["network"]["output_coil"] = {}
    for band in table["bands"][:2]:
        band["output_coil"] = "4.2 uH"
    with pytest.raises(ValidationError) as caught:
        Description.model_validate(table, context=FROM_FILE)
    assert codes(caught.value) == {("bands.2.output_coil", "missing_key")}
    table["bands"][2]["output_coil"] = "1 uH"
    assert Description.model_validate(table, context=FROM_FILE).bands[2].output_coil == 1e-6


@pytest.mark.parametrize(
    "mark", ["\n", "\r", "\x0b", "\x0c", "\x1c", "\x85", "\u2028", "\u2029", "\x00", "\u202e"]
)
@pytest.mark.parametrize("path", ["title", "bands.0.name", "network.coil.source"])
def test_text_stays_on_one_line(plain_text, path, mark):
    with pytest.raises(ValidationError, match=f"U\\+{ord(mark):04X}"):
        Description.model_validate(changed(plain_text, path, f"a{mark}b"), context=FROM_FILE)


def test_text_is_limited_in_length_and_else_free(plain_text):
    text = "<script>&{rule}é" + "x" * 184
    assert Description.model_validate(changed(plain_text, "title", text), context=FROM_FILE).title == text
    with pytest.raises(ValidationError, match="at most 200"):
        Description.model_validate(changed(plain_text, "title", text + "x"), context=FROM_FILE)


def test_a_number_without_unit_is_si_in_python_and_a_mistake_in_a_file(plain_text):
    table = changed(plain_text, "stage.plate_voltage", 2600)
    assert Description.model_validate(table).stage.plate_voltage == 2600.0
    with pytest.raises(ValidationError) as caught:
        Description.model_validate(table, context=FROM_FILE)
    assert codes(caught.value) == {("stage.plate_voltage", "unit_missing")}
    assert '"2600 V" or "2600 kV"' in str(caught.value)
