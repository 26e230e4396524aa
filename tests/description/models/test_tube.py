"""The table of the tube: what is admitted, and what is said about the rest."""

import pytest
from samples import amplifier_from

from netsim.errors import DescriptionError

CONSTANTS = """
[tube]
connection = "grounded grid"
count = 2
amplification_factor = 110
perveance = 1.1e-3
knee_voltage = "90 V"
bias_voltage = "-6 V"
drive_voltage_peak = "95 V"
grid_perveance = 3e-4
"""
CURVES = [
    ("500 V", "0 V", "20 mA"),
    ("500 V", "20 V", "150 mA"),
    ("1 kV", "0 V", "45 mA"),
    ("1 kV", "20 V", "180 mA"),
    ("2 kV", "0 V", "110 mA"),
    ("2 kV", "20 V", "240 mA"),
]


def curves(rows):
    listed = ", ".join(f'["{plate}", "{grid}", "{current}"]' for plate, grid, current in rows)
    return f'\n[tube]\nconnection = "grounded cathode"\ncurve_points = [{listed}]\n'


def problem(plain, folder, table):
    with pytest.raises(DescriptionError) as caught:
        amplifier_from(plain.read_text() + table, folder)
    return caught.value.problems[0]


def test_constants(plain, tmp_path):
    tube = amplifier_from(plain.read_text() + CONSTANTS, tmp_path).description.tube
    assert tube is not None
    assert (tube.count, tube.perveance, tube.knee_voltage) == (2, 1.1e-3, 90.0)
    assert (tube.bias_voltage, tube.drive_voltage_peak) == (-6.0, 95.0)


def test_curves(plain, tmp_path):
    tube = amplifier_from(plain.read_text() + curves(CURVES), tmp_path).description.tube
    assert tube is not None
    assert tube.curve_points[5] == (2000.0, 20.0, 0.24)


def test_a_plain_file_has_none(plain, tmp_path):
    assert amplifier_from(plain.read_text(), tmp_path).description.tube is None


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "words"),
    [
        ("count = 2", "count = 1.5", "out_of_range", "tube.count", "whole number"),
        ("perveance = 1.1e-3\n", "", "missing_key", "tube.perveance", "add perveance"),
        ("perveance = 1.1e-3\n", 'perveance = "1.1 mA"\n', "wrong_type", "tube.perveance", "1.1e-3"),
        ('drive_voltage_peak = "95 V"\n', "", "conflict", "tube.bias_voltage", "give the drive"),
        ('"grounded grid"', '"grounded plate"', "bad_choice", "tube.connection", "grounded cathode"),
        ('"-6 V"', '"-6 kV"', "out_of_range", "tube.bias_voltage", "-3 kV"),
        ('"-6 V"', "-6", "unit_missing", "tube.bias_voltage", '"-6 V"'),
    ],
)
def test_mistakes_in_constants(plain, tmp_path, old, new, code, key, words):
    assert old in CONSTANTS
    found = problem(plain, tmp_path, CONSTANTS.replace(old, new))
    assert (found.code, found.key) == (code, key)
    assert words in found.message
    assert found.line is not None
    assert found.line > len(plain.read_text().splitlines())


def test_constants_and_curves(plain, tmp_path):
    table = curves(CURVES) + "perveance = 1e-3\n"
    found = problem(plain, tmp_path, table)
    assert (found.code, found.key) == ("conflict", "tube.curve_points")


def test_too_few_points(plain, tmp_path):
    for rows in (CURVES[:5], [(plate, "0 V", current) for plate, _, current in CURVES[::2] * 2]):
        found = problem(plain, tmp_path, curves(rows))
        assert (found.code, found.key) == ("too_few_points", "tube.curve_points")
        assert "6 points" in found.message


@pytest.mark.parametrize(
    "changed", [("2 kV", "0 V", "40 mA"), ("500 V", "20 V", "200 mA"), ("1 kV", "0 V", "60 mA")]
)
def test_contradicting_points(plain, tmp_path, changed):
    found = problem(plain, tmp_path, curves([*CURVES, changed]))
    assert (found.code, found.key) == ("contradicting_curves", "tube.curve_points[6]")
    assert "contradicts entry" in found.message


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("../antenna.s1p", "file_elsewhere"),
        ("/etc/antenna.s1p", "file_elsewhere"),
        ("C:antenna.s1p", "file_elsewhere"),
        ("folder/antenna.s1p", "file_elsewhere"),
        (".antenna.s1p", "file_elsewhere"),
        ("antenna.s2p", "bad_file_name"),
        ("antenna", "bad_file_name"),
        ("-rf.s1p", "bad_file_name"),
    ],
)
def test_measurements_stand_beside_the_file(plain, tmp_path, name, code):
    text = plain.read_text().replace("worst_swr = 2.0", f'measured = "{name}"')
    with pytest.raises(DescriptionError) as caught:
        amplifier_from(text, tmp_path)
    assert (caught.value.problems[0].code, caught.value.problems[0].key) == (code, "antenna.measured")
