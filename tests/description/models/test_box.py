"""The box around the network: the contract's keys, units and choices, and every rule with what to do."""

import pytest

from netsim.description.reader import loads
from netsim.errors import DescriptionError

TUBE = """
[tube]
connection = "grounded grid"
amplification_factor = 110
perveance = 1.1e-3
knee_voltage = "90 V"
"""
BOX = """
[bias]
kind = "zener"
power_rating = "50 W"

[input]
topology = "pi"
available_power = "80 W"
coil_q = 120
input_capacitance = "32 pF"
heater_choke = "12 uH"

[supply]
mains_frequency = "50 Hz"
secondary_voltage = "2.1 kV"
secondary_resistance = "45 ohm"
rectifier = "bridge"
capacitance = "270 uF"
capacitors_in_series = 8
capacitor_voltage_rating = "450 V"
equalizing_resistance = "100 kohm"
bleeder = "150 kohm"
bleeder_power_rating = "60 W"
inrush_resistor = "22 ohm"
turns_ratio = 9.1
inrush_pulse_rating = "200 J"
inrush_time = "1 s"
glitch_resistor = "25 ohm"
glitch_pulse_rating = "150 J"
fuse_melting_integral = "20 A^2 s"
touch_voltage = "50 V"
capacitor_resistance = "2 ohm"
arc_voltage = "50 V"

[cooling]
ambient = "30 degC"
anode_temperature_limit = "200 degC"
heat_capacity = "180 J/K"

[[cooling.path]]
name = "seal to clamp"
thermal_resistance = "0.08 K/W"

[[cooling.path]]
name = "insulator"
material = "aluminium nitride"
thickness = "3 mm"
area = "25 cm^2"
electrical = true
adds_to_output_capacitance = true

[[cooling.path]]
name = "sink"
fins = 24
fin_height = "40 mm"
fin_length = "200 mm"
fin_thickness = "2 mm"
fin_gap = "6 mm"

[[meters]]
reads = "plate current"
movement = "1 mA"
movement_resistance = "100 ohm"
full_scale = "1 A"
shunt = "0.1 ohm"

[[meters]]
reads = "plate voltage"
movement = "1 mA"
movement_resistance = "100 ohm"
full_scale = "5 kV"
multiplier = "5 Mohm"
resistor_voltage_rating = "500 V"
resistor_power_rating = "1 W"

[[meters]]
reads = "output"
movement = "1 mA"
movement_resistance = "100 ohm"
full_scale = "1.5 kW"
"""
INPUT_PARTS = 'input_coil = "0.4 uH"\ninput_source_capacitor = "900 pF"\ninput_tube_capacitor = "800 pF"\n'


@pytest.fixture
def text(plain_text):
    return plain_text.replace('coil = "5.8 uH"\n', f'coil = "5.8 uH"\n{INPUT_PARTS}') + TUBE + BOX


def test_every_key_of_the_contract(text):
    description = loads(text).description
    assert description.supply.fuse_melting_integral == 20.0
    assert description.supply.capacitors_in_series == 8.0
    assert description.cooling.path[1].area == pytest.approx(25e-4, rel=1e-12, abs=0)
    assert description.cooling.heat_capacity == 180.0
    assert [meter.full_scale for meter in description.meters] == [1.0, 5000.0, 1500.0]
    assert description.bands[1].input_coil == pytest.approx(0.4e-6, rel=1e-12, abs=0)
    assert description.input.source_resistance == 50.0
    assert description.input.target_loaded_q == 2.0
    assert description.bias.kind == "zener"


def test_each_table_is_optional_and_says_nothing_when_absent(plain_text):
    description = loads(plain_text).description
    assert description.bias is description.input is description.supply is description.cooling is None
    assert description.meters == ()


def test_limits_stand_where_quantities_do(text):
    limited = text.replace('"45 ohm"', '"45 ohm +- 20 %"').replace('"3 mm"', '"3 mm +- 5 %"')
    keys = [entry.key for entry in loads(limited).inputs if entry.source == "file"]
    assert keys == ["supply.secondary_resistance", "cooling.path[insulator].thickness"]


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "words"),
    [
        (TUBE, "", "conflict", "bias", "[tube]"),
        (
            'topology = "pi"\navailable',
            'topology = "none"\navailable',
            "conflict",
            "bands[1].input_coil",
            "pi",
        ),
        ('input_coil = "0.4 uH"\n', "", "missing_key", "bands[1].input_coil", "three parts"),
        ('rectifier = "bridge"', 'rectifier = "tube"', "bad_choice", "supply.rectifier", "'full-wave'"),
        ("in_series = 8", "in_series = 7.5", "out_of_range", "supply.capacitors_in_series", "whole"),
        (
            'rectifier = "bridge"\ncapacitance = "270 uF"\ncapacitors_in_series = 8',
            'rectifier = "doubler"\ncapacitance = "270 uF"\ncapacitors_in_series = 7',
            *("conflict", "supply.capacitors_in_series", "even"),
        ),
        ("turns_ratio = 9.1\n", "", "missing_key", "supply.turns_ratio", "inrush_resistor"),
        ('glitch_resistor = "25 ohm"\n', "", "missing_key", "supply.glitch_resistor", "glitch_pulse_rating"),
        ('"270 uF"', '"270 mF"', None, None, None),
        (
            'secondary_resistance = "45 ohm"\n',
            "",
            "missing_key",
            "supply.secondary_resistance",
            "secondary_resistance =",
        ),
        ('"200 degC"', '"20 degC"', "out_of_range", "cooling.anode_temperature_limit", "45 °C"),
        ('"0.08 K/W"', '"0.08 W/K"', "not_a_number", "cooling.path[0].thermal_resistance", '"1 K/W"'),
        (
            'thermal_resistance = "0.08 K/W"\n',
            "",
            "missing_key",
            "cooling.path[0].thermal_resistance",
            "fins",
        ),
        ('thickness = "3 mm"\n', "", "missing_key", "cooling.path[1].thickness", "beside material"),
        ('fin_gap = "6 mm"\n', "", "missing_key", "cooling.path[2].fin_gap", "beside fins"),
        ("fins = 24\n", 'fins = 24\nmaterial = "copper"\n', "conflict", "cooling.path[2].fins", "each fix"),
        (
            "electrical = true\n",
            "",
            "conflict",
            "cooling.path[1].adds_to_output_capacitance",
            "electrical = true",
        ),
        ('"aluminium nitride"', '"copper"', "conflict", "cooling.path[1].electrical", "copper conducts"),
        ('"aluminium nitride"', '"beryllium"', "bad_choice", "cooling.path[1].material", "'beryllia'"),
        ('shunt = "0.1 ohm"', 'multiplier = "5 Mohm"', "conflict", "meters[0].multiplier", "shunt"),
        ('full_scale = "1 A"', 'full_scale = "5 kV"', "wrong_dimension", "meters[0].full_scale", "a current"),
        ('full_scale = "1.5 kW"', 'full_scale = "1 A"', "wrong_dimension", "meters[2].full_scale", "a power"),
        ('full_scale = "1 A"', 'full_scale = "0.1 mA"', "conflict", "meters[0].full_scale", "alone"),
        (
            'full_scale = "1 A"',
            'full_scale = "1 A +- 2 %"',
            "limits_not_allowed",
            "meters[0].full_scale",
            "marked",
        ),
        ('reads = "output"', 'reads = "swr"', "bad_choice", "meters[2].reads", "'grid current'"),
    ],
)
def test_each_mistake_has_its_place_and_what_to_do(text, old, new, code, key, words):
    assert text.count(old) == 1, old
    changed = text.replace(old, new)
    if code is None:
        loads(changed)
        return
    with pytest.raises(DescriptionError) as caught:
        loads(changed)
    found = {problem.key: problem for problem in caught.value.problems}
    assert found[key].code == code
    assert words in found[key].message
    assert found[key].line


def test_the_grid_has_ratings_at_operating_points_too(plain_text):
    text = plain_text.replace(
        "[stage]\n", '[stage]\ngrid_current_rating = "200 mA"\ngrid_dissipation_rating = "20 W"\n'
    )
    text += '\n[[operating_points]]\nname = "low"\ngrid_current_rating = "150 mA"\n'
    description = loads(text).description
    assert description.stage.grid_dissipation_rating == 20.0
    assert description.operating_points[0].of(description.stage).grid_current_rating == 0.15
