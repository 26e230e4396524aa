"""Mistakes that keep a text from being TOML: each is named as what it is, at its line."""

import pytest

from netsim.description.toml_text.parsing import parse
from netsim.errors import DescriptionError


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("[stage]\ntitle = \u201cx\u201d\n", 2, "typeset"),
        ('title = "x\u201d\n', 1, "typeset"),
        ("title = \u201ex\u201c\n", 1, "U+201E"),
        ('title = "x\nq = 1\n', 1, "closing quote"),
        ("title = 'x\nq = 1\n", 1, "closing quote"),
        ('a = 1\ntitle = """x\n', 3, "three quotes"),
        ("f = [1 2]\n", 1, "a comma between two entries"),
        ('f = ["a", "b" "c"]\n', 1, "a comma between two entries"),
        ("f = [1, 2\nb = 3\n", 2, "closing ]"),
        ("t = {b = 1 c = 2}\n", 1, "a comma between two entries"),
        ("t = {b = 1,\n c = 2}\n", 1, "on one line"),
        ("v = 2.6 kV\n", 1, 'write "2.6 kV"'),
        ("v = 195 deg  # c\n", 1, 'write "195 deg"'),
        ("q = 2,5\n", 1, "a point, not a comma"),
        ("q = .5\n", 1, "both sides"),
        ("q = 5.\n", 1, "both sides"),
        ("q = 007\n", 1, "no 0 before"),
        ("p = True\n", 1, "write true"),
        ("topology = pi\n", 1, 'write "pi"'),
        ("q =\n", 1, "a value is missing"),
        ("; c\n", 1, "begins with #; found ;"),
        ("q = 1 // c\n", 1, "begins with #; found //"),
        ("q: 3\n", 1, "with =, not :"),
        ("plate voltage = 3\n", 1, "one word"),
        ('a = "x" "y"\n', 1, "something follows the value"),
        ("[stage\nq = 1\n", 1, "closing bracket of a header"),
        ("[[bands]\nq = 1\n", 1, "closing bracket of a header"),
        ('s = "C:\\x"\n', 1, "a backslash"),
        ('a = "\x01"\n', 1, "Illegal character"),
    ],
)
def test_a_mistake_is_named(text, line, words):
    with pytest.raises(DescriptionError) as caught:
        parse(text, "amp.toml")
    (problem,) = caught.value.problems
    assert problem.code == "toml_syntax"
    assert words in problem.message
    assert problem.line == line
    assert problem.column


@pytest.mark.parametrize(
    "name", ["bands", "network.coil.winding", "operating_points", "measured", "cooling.path"]
)
def test_single_brackets_where_there_are_several(name):
    with pytest.raises(DescriptionError) as caught:
        parse(f"[{name}]\na = 1\n[ {name.replace('.', ' . ')} ]\na = 2\n", "amp.toml")
    (problem,) = caught.value.problems
    assert problem.code == "duplicate_key"
    assert f"write [[{name}]]" in problem.message
    assert problem.line == 3


def test_a_quote_within_a_text_is_no_mistake():
    assert parse('title = "a \u201cb\u201d"', "x") == {"title": "a \u201cb\u201d"}
    with pytest.raises(DescriptionError) as caught:
        parse('title = "it\u2019s" 5\n', "x")
    assert "something follows" in str(caught.value)


def test_another_table_twice_is_told_as_before():
    with pytest.raises(DescriptionError) as caught:
        parse("[stage]\n[stage]\n", "x")
    assert "keep one of them" in str(caught.value)
