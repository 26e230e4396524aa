import pytest

from netsim.advice.change import (
    WEIGHTS,
    Edit,
    applied,
    changed,
    keeps_the_rules,
    plain_edit,
    quantity_edit,
    removal,
    written,
)
from netsim.description.reader import read


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (12.5e-6, "H", "12.5 uH"),
        (950e-9, "H", "950 nH"),
        (3150.0, "V", "3.15 kV"),
        (2830.0, "ohm", "2.83 kohm"),
    ],
)
def test_values_are_written_as_people_write_them(value, unit, text):
    assert written(value, unit) == text


def test_the_order_of_weights_is_the_owners():
    assert WEIGHTS["setting"] < WEIGHTS["padding"] < WEIGHTS["tap"] < WEIGHTS["part"] < WEIGHTS["topology"]


def test_model_and_text_say_the_same(plain):
    before = read(plain)
    edits = [
        quantity_edit(("bands", 0, "coil"), 9.87654e-6, "H"),
        quantity_edit(("network", "tune_capacitor", "minimum"), 7e-12, "F"),
        removal(("antenna", "worst_swr")),
        plain_edit(("title",), "Changed"),
    ]
    after = changed(before, edits).description
    assert applied(before.description, edits).bands == after.bands
    assert applied(before.description, edits).network == after.network
    assert after.bands[0].coil == pytest.approx(9.88e-6)
    assert after.title == "Changed"
    assert before.description.antenna.worst_swr != after.antenna.worst_swr == 1.0


def test_a_new_table_goes_into_the_text(plain):
    edit = Edit(("network", "band_switch"), None, {"current_rating": "9 A"})
    assert changed(read(plain), [edit]).description.network.band_switch.current_rating == 9.0


def test_nothing_is_touched_by_no_edit(plain):
    before = read(plain)
    assert changed(before, []) == before


def test_every_amplifier_as_it_stands_keeps_the_rules(circuits):
    """Derived: the reader took the file, so that no change of something else may count as breaking a rule."""
    files = sorted(circuits.glob("*.toml"))
    assert len(files) > 4
    assert [file.name for file in files if not keeps_the_rules(read(file).description)] == []
