"""Operating points: what may differ, what must not, and where a mistake is shown."""

import pytest

from netsim.description.models.amplifier import Stage
from netsim.description.models.operating_point import OperatingPoint
from netsim.description.reader import read
from netsim.errors import DescriptionError

POINT = """
[[operating_points]]
name = "low tap"
plate_voltage = "1.9 kV"
plate_current = "400 mA"
bands = ["40 m"]
"""


@pytest.fixture
def write(tmp_path, plain):
    text = plain.read_text(encoding="utf-8")

    def put(extra):
        path = tmp_path / "amplifier.toml"
        path.write_text(text + extra, encoding="utf-8")
        return path

    return put


def problem(path):
    with pytest.raises(DescriptionError) as caught:
        read(path)
    (only,) = caught.value.problems
    return only


def test_every_key_of_the_stage_can_differ():
    assert set(OperatingPoint.model_fields) == set(Stage.model_fields) | {"name", "bands"}


def test_a_file_without_any_has_none(plain):
    assert read(plain).description.operating_points == ()


def test_what_is_not_named_stays_as_in_the_stage(write):
    description = read(write(POINT)).description
    stage = description.operating_points[0].of(description.stage)
    assert stage.plate_voltage == 1900.0
    assert stage.plate_current == pytest.approx(0.4)
    assert stage.conduction_angle == description.stage.conduction_angle
    assert stage.minimum_plate_voltage == description.stage.minimum_plate_voltage


def test_a_plate_load_takes_the_place_of_the_lowest_plate_voltage(write):
    description = read(write('\n[[operating_points]]\nname = "x"\nplate_load = "2 kohm"\n')).description
    stage = description.operating_points[0].of(description.stage)
    assert (stage.plate_load, stage.minimum_plate_voltage) == (2000.0, None)


@pytest.mark.parametrize(
    ("line", "code", "words"),
    [
        ('plate_voltag = "2 kV"', "unknown_key", "did you mean 'plate_voltage'"),
        ('coil = "2 uH"', "unknown_key", "[[bands]]"),
        ('bands = ["41 m"]', "unknown_band", "'40 m'"),
        ('plate_voltage = "3.4 kV"', "conflict", "interchanged"),
        ("plate_current = 3", "unit_missing", "no unit"),
    ],
)
def test_a_mistake_is_shown_at_its_line(write, line, code, words):
    path = write(f'\n[[operating_points]]\nname = "x"\n{line}\n')
    found = problem(path)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert found.code == code
    assert words in found.message
    assert found.key.startswith("operating_points[0]")
    assert found.line >= lines.index("[[operating_points]]") + 1


def test_the_line_is_that_of_the_unknown_key(write):
    path = write('\n[[operating_points]]\nname = "x"\nplate_voltag = "2 kV"\n')
    assert path.read_text(encoding="utf-8").splitlines()[problem(path).line - 1] == 'plate_voltag = "2 kV"'


def test_two_points_of_one_name_are_refused(write):
    twice = '\n[[operating_points]]\nname = "x"\n\n[[operating_points]]\nname = "x"\n'
    assert problem(write(twice)).code == "duplicate_name"


def test_the_default_stock_of_paddings_is_ascending_and_common():
    from netsim.description.models.keys import PADDING_STOCK

    assert list(PADDING_STOCK) == sorted(set(PADDING_STOCK))
    assert {100e-12, 470e-12, 1000e-12} <= set(PADDING_STOCK)
