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
    assert tube.curve_points[5] == (2000.0, 20.0, 0.24, None)


def test_curves_with_grid_current(plain, tmp_path):
    """The fourth entry may stand at some points and not at others."""
    text = (
        curves(CURVES).replace('"150 mA"]', '"150 mA", "31 mA"]').replace('"240 mA"]', '"240 mA", "40 mA"]')
    )
    tube = amplifier_from(plain.read_text() + text, tmp_path).description.tube
    assert tube is not None
    assert [point[3] for point in tube.curve_points] == [None, 0.031, None, None, None, 0.04]


def test_left_out_grid_perveance_is_not_zero(plain, tmp_path):
    text = CONSTANTS.replace("grid_perveance = 3e-4\n", "")
    assert amplifier_from(plain.read_text() + text, tmp_path).description.tube.grid_perveance is None
    with_zero = amplifier_from(plain.read_text() + text + "grid_perveance = 0\n", tmp_path)
    assert with_zero.description.tube.grid_perveance == 0.0


def test_a_screen(plain, tmp_path):
    text = CONSTANTS + 'screen_voltage = "350 V"\nscreen_amplification_factor = 6\n'
    tube = amplifier_from(plain.read_text() + text, tmp_path).description.tube
    assert (tube.screen_voltage, tube.screen_amplification_factor) == (350.0, 6.0)


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
        ("grid_perveance = 3e-4", "grid_perveance = 1.1e-3", "out_of_range", "tube.grid_perveance", "below"),
        (
            "grid_perveance = 3e-4",
            'screen_voltage = "350 V"',
            "missing_key",
            "tube.screen_amplification_factor",
            "required together",
        ),
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
    "changed", [("2 kV", "0 V", "16 mA"), ("500 V", "20 V", "400 mA"), ("2 kV", "25 V", "24 mA")]
)
def test_points_that_no_misreading_explains(plain, tmp_path, changed):
    found = problem(plain, tmp_path, curves([*CURVES, changed]))
    assert found.code == "contradicting_curves"
    assert found.key.startswith("tube.curve_points[")
    assert "contradicts entry" in found.message
    assert "misreading" in found.message


@pytest.mark.parametrize(
    "changed", [("2 kV", "0 V", "60 mA"), ("500 V", "20 V", "217 mA"), ("1 kV", "0 V", "25 mA")]
)
def test_points_45_per_cent_off_are_read(plain, tmp_path, changed):
    """They are for the fit to name, not for the reader to refuse."""
    tube = amplifier_from(plain.read_text() + curves([*CURVES, changed]), tmp_path).description.tube
    assert tube is not None
    assert len(tube.curve_points) == 7


def test_exchanged_columns(plain, tmp_path):
    exchanged = [(grid, plate, current) for plate, grid, current in [*CURVES, ("3 kV", "-10 V", "150 mA")]]
    found = problem(plain, tmp_path, curves(exchanged))
    assert (found.code, found.key) == ("swapped_columns", "tube.curve_points[0][0]")
    assert "look like grid voltage, plate voltage" in found.message


@pytest.mark.parametrize(
    ("point", "place", "words"),
    [
        (("-20 V", "0 V", "1 mA"), "[0]", "plate voltage must be"),
        (("2 kV", "3 kV", "1 A"), "[1]", "grid voltage must"),
    ],
)
def test_voltages_that_no_tube_has(plain, tmp_path, point, place, words):
    found = problem(plain, tmp_path, curves([*CURVES, point]))
    assert (found.code, found.key) == ("out_of_range", f"tube.curve_points[6]{place}")
    assert words in found.message


def test_grid_current_twice(plain, tmp_path):
    text = (
        curves(CURVES).replace('"150 mA"]', '"150 mA", "31 mA"]').replace('"240 mA"]', '"240 mA", "40 mA"]')
    )
    found = problem(plain, tmp_path, text + "grid_perveance = 1e-4\n")
    assert (found.code, found.key) == ("conflict", "tube.grid_perveance")


def test_too_few_grid_currents(plain, tmp_path):
    text = curves(CURVES).replace('"150 mA"]', '"150 mA", "31 mA"]')
    found = problem(plain, tmp_path, text)
    assert (found.code, found.key) == ("too_few_points", "tube.curve_points")
    assert "found 1" in found.message


def test_a_curve_point_of_two_or_five(plain, tmp_path):
    for entry in ('["500 V", "0 V"]', '["500 V", "0 V", "20 mA", "0 mA", "0 mA"]'):
        text = curves(CURVES).replace('["500 V", "0 V", "20 mA"]', entry)
        found = problem(plain, tmp_path, text)
        assert (found.code, found.key) == ("wrong_length", "tube.curve_points[0]")


def test_pulse(plain, tmp_path):
    text = plain.read_text()
    assert amplifier_from(text, tmp_path).description.stage.pulse == "cosine"
    shaped = text.replace("[stage]", '[stage]\npulse = "three-halves"')
    assert amplifier_from(shaped, tmp_path).description.stage.pulse == "three-halves"
    with pytest.raises(DescriptionError) as caught:
        amplifier_from(text.replace("[stage]", '[stage]\npulse = "square"'), tmp_path)
    assert (caught.value.problems[0].code, caught.value.problems[0].key) == ("bad_choice", "stage.pulse")


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
