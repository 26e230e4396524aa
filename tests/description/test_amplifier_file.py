"""The amplifier as one thing: what is read, changed, compared and hashed cannot diverge."""

import dataclasses
import doctest
import hashlib

import pytest

from netsim.description import reader
from netsim.description.reader import Amplifier, loads, read
from netsim.errors import DescriptionError


@pytest.fixture
def amplifier(plain_path):
    return read(plain_path)


def problem_of(amplifier, changes):
    with pytest.raises(DescriptionError) as caught:
        amplifier.replace(changes)
    return caught.value.problems[0]


def test_a_text_without_a_file(plain_text, plain_path):
    amplifier = loads(plain_text)
    assert amplifier.description == read(plain_path).description
    assert amplifier.sha256 == hashlib.sha256(plain_text.encode()).hexdigest()
    with pytest.raises(DescriptionError) as caught:
        loads("title = 3")
    assert caught.value.problems[0].file == "<text>"
    with pytest.raises(DescriptionError) as caught:
        loads("title = '\ud800'")
    assert caught.value.problems[0].code == "file_not_text"


def test_nothing_of_it_can_be_changed(amplifier):
    for name in ("raw", "path", "description", "text"):
        with pytest.raises((dataclasses.FrozenInstanceError, AttributeError)):
            setattr(amplifier, name, "x")
    with pytest.raises((TypeError, ValueError)):
        dataclasses.replace(amplifier, description=amplifier.description)
    with pytest.raises(TypeError):
        Amplifier(amplifier.raw, amplifier.path, amplifier.description)


def test_equal_bytes_are_equal_amplifiers(amplifier, plain_path):
    assert amplifier == read(plain_path)
    assert hash(amplifier) == hash(read(plain_path))
    assert amplifier != amplifier.replace({"title": "Another"})


def test_keys_as_results_print_them(amplifier):
    changed = amplifier.replace(
        {
            "network.tune_capacitor.minimum": "4 pF",
            "bands[40 m].coil": "5.5 uH",
            "bands[2].coil": "2.8 uH",
            "network.blocking_capacitor": {"capacitance": "1.5 nF"},
            "limits.loaded_q": [9, 21],
            "network.plate_choke.series_resonances": None,
            "operating_points": [{"name": "low", "plate_voltage": "2 kV"}],
        }
    )
    description = changed.description
    assert description.network.tune_capacitor.minimum == 4e-12
    assert [band.coil for band in description.bands[1:]] == [5.5e-6, 2.8e-6]
    assert description.network.blocking_capacitor.capacitance == 1.5e-9
    assert description.limits.loaded_q == (9.0, 21.0)
    assert description.network.plate_choke.series_resonances == ()
    again = changed.replace({"operating_points[low].plate_voltage": "1.9 kV"})
    assert again.description.operating_points[0].plate_voltage == 1900.0
    assert changed.path == amplifier.path
    assert loads(changed.text, changed.path).description == description
    assert changed.sha256 == hashlib.sha256(changed.text.encode()).hexdigest() != amplifier.sha256


def test_tables_are_made_where_they_are_missing(amplifier):
    changed = amplifier.replace({"network.band_switch.current_rating": "9 A"})
    assert changed.description.network.band_switch.current_rating == 9.0
    assert "[network.band_switch]\ncurrent_rating = " in changed.text


def test_names_and_items_are_those_of_the_file_whatever_else_goes(amplifier):
    names = [band.name for band in amplifier.description.bands]
    assert len(names) == 3
    gone = {f"bands[{name}]": None for name in names[:2]}
    changed = amplifier.replace({**gone, f"bands[{names[-1]}].coil": "1.5 uH"}).description
    assert [band.name for band in changed.bands] == names[2:]
    assert changed.bands[-1].coil == pytest.approx(1.5e-6)
    assert [b.coil for b in changed.bands[:-1]] == [b.coil for b in amplifier.description.bands[2:-1]]


def test_no_change_changes_no_byte(plain_text):
    amplifier = loads("\ufeff" + plain_text.replace("\n", "\r\n"))
    assert amplifier.replace({}).text == amplifier.text
    assert amplifier.raw.startswith(b"\xef\xbb\xbf")


def test_a_change_is_checked_like_a_file_with_lines_of_the_new_text(amplifier):
    problem = problem_of(amplifier, {"network.tune_capacitor.minimum": "1 nF"})
    assert (problem.code, problem.key) == ("conflict", "network.tune_capacitor.minimum")
    assert problem.line == amplifier.position("network", "tune_capacitor", "minimum").line
    problem = problem_of(amplifier, {"stage.plate_voltage": 2600})
    assert problem.code == "unit_missing"
    problem = problem_of(amplifier, {"title": None, "bands[1].coil": "5 uF"})
    assert problem.line == amplifier.position("bands", 1, "coil").line - 1
    assert problem_of(amplifier, {"bands[11 m].coil": "5 uH"}).code == "unknown_name"
    assert problem_of(amplifier, {"bands[].coil": "5 uH"}).code == "bad_key"
    assert problem_of(amplifier, {"bands[9].coil": "5 uH"}).code == "no_such_item"
    assert problem_of(amplifier, {"stage.plate_current": object()}).code == "wrong_type"


def test_a_difference_names_the_file_and_the_lines(amplifier):
    changed = amplifier.replace({"bands[40 m].coil": "5.5 uH"})
    assert amplifier.diff(amplifier) == ""
    lines = amplifier.diff(changed).splitlines()
    assert lines[0] == f"--- {amplifier.path}"
    assert [line for line in lines[2:] if line[0] in "+-"] == ['-coil = "5.8 uH"', '+coil = "5.5 uH"']


def test_a_key_and_its_path(amplifier):
    assert amplifier.key("bands", 1, "frequencies", 0) == "bands[40 m].frequencies[0]"


def test_the_examples_of_the_docstrings(root, monkeypatch):
    monkeypatch.chdir(root)
    assert doctest.testmod(reader).attempted
    assert doctest.testmod(reader).failed == 0


def test_the_package_offers_what_its_stub_says(root):
    import netsim

    assert netsim.read is read
    assert netsim.loads is loads
    assert netsim.Amplifier is Amplifier
    stub = (root / "netsim" / "__init__.pyi").read_text()
    assert {name for name in dir(netsim) if f"import {name} as {name}" in stub} == set(dir(netsim)) - {
        "__version__"
    }
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = netsim.nothing
