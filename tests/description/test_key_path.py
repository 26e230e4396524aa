"""Keys as they are printed, and back; derived: the grammar in the module's own words, case by case."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.description.key_path import folded, parse_key, printed_key
from netsim.errors import DescriptionError

TABLE = {
    "bands": [
        {"name": "80 m", "frequencies": [1, 2]},
        {"name": "160"},
        {"name": "a]b.c"},
        {"name": ' "q" \\'},
    ],
    "network": {"coil": {"winding": [{"turns": 3}, {"turns": 4}]}},
}


@pytest.mark.parametrize(
    ("path", "key"),
    [
        (("title",), "title"),
        (("network", "coil", "winding", 1, "turns"), "network.coil.winding[1].turns"),
        (("bands", 0, "coil_turns"), "bands[80 m].coil_turns"),
        (("bands", 0, "frequencies", 1), "bands[80 m].frequencies[1]"),
        (("bands", 1, "coil"), 'bands["160"].coil'),
        (("bands", 2, "coil"), 'bands["a]b.c"].coil'),
        (("bands", 3), 'bands[" \\"q\\" \\\\"]'),
        (("bands", 7, "name"), "bands[7].name"),
    ],
)
def test_printed_and_back(path, key):
    assert printed_key(path, TABLE) == key
    assert parse_key(key, TABLE) == path


def test_without_a_table_items_are_counted():
    assert printed_key(("bands", 0, "coil")) == "bands[0].coil"


@pytest.mark.parametrize(
    "key", ["bands[0].coil", "bands[80m].coil", "bands[80 M].coil", 'bands["80 m"].coil']
)
def test_a_band_by_its_number_or_its_name_however_spaced(key):
    assert parse_key(key, TABLE) == ("bands", 0, "coil")


def test_an_exact_name_goes_before_one_spelt_alike():
    assert parse_key("bands[80 m]", {"bands": [{"name": "80m"}, {"name": "80 m"}]}) == ("bands", 1)


@pytest.mark.parametrize(
    "key", ["", ".a", "a.", "a..b", "a[", "a[]", "a]", "a b", 'a["x]', "[0]", "a[0]b", "a.[0]", "a\n"]
)
def test_what_is_no_key(key):
    with pytest.raises(DescriptionError) as caught:
        parse_key(key, TABLE)
    assert caught.value.problems[0].code == "bad_key"


def test_a_name_that_is_not_there_is_answered_with_those_that_are():
    with pytest.raises(DescriptionError) as caught:
        parse_key("bands[10 m].coil", TABLE)
    (problem,) = caught.value.problems
    assert problem.code == "unknown_name"
    assert '80 m, "160", "a]b.c"' in problem.message
    with pytest.raises(DescriptionError):
        parse_key("network[coil]", TABLE)


@given(names=st.lists(st.text(min_size=1, max_size=12), min_size=1, max_size=4, unique=True))
def test_any_name_comes_back(names):
    table = {"bands": [{"name": name} for name in names]}
    for index in range(len(names)):
        assert parse_key(printed_key(("bands", index, "coil"), table), table) == ("bands", index, "coil")


def test_blanks_and_capitals_do_not_count_in_names():
    assert folded("160 m") == folded("160m") == folded(" 160\u00a0M")
    assert folded("160 m") != folded("16 m")
