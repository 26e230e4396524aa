import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.description.toml_text.positions import Position, index_positions

TEXT = """title = "é" # first
a.b."c d" = 1
[net."x y".z]
  q = 1
é = {k = 1, m.n = [1, {z = 2}]}
[[bands]]
name = "e"
fr = [
  "a", # c
  [ "b" ],
]
[bands.sub]
x = 1
[[bands]]
name = 'f'
[[bands.k]]
v = 1
""".replace("é = {", '"é" = {')


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ((), (1, 1)),
        (("title",), (1, 1)),
        (("a",), (2, 1)),
        (("a", "b"), (2, 3)),
        (("a", "b", "c d"), (2, 5)),
        (("net",), (3, 2)),
        (("net", "x y", "z"), (3, 12)),
        (("net", "x y", "z", "q"), (4, 3)),
        (("net", "x y", "z", "é", "k"), (5, 8)),
        (("net", "x y", "z", "é", "m", "n"), (5, 17)),
        (("net", "x y", "z", "é", "m", "n", 1, "z"), (5, 26)),
        (("bands",), (6, 3)),
        (("bands", 0), (6, 1)),
        (("bands", 0, "fr", 0), (9, 3)),
        (("bands", 0, "fr", 1, 0), (10, 5)),
        (("bands", 0, "sub", "x"), (13, 1)),
        (("bands", 1), (14, 1)),
        (("bands", 1, "name"), (15, 1)),
        (("bands", 1, "k", 0, "v"), (17, 1)),
    ],
)
def test_places_counted_by_hand(path, place):
    index = index_positions(TEXT)
    assert index[path] == Position(*place)
    assert index_positions(TEXT.replace("\n", "\r\n"))[path] == Position(*place)


def test_columns_count_characters_not_bytes():
    index = index_positions('x = ["ééé", "b"]')
    assert index[("x", 1)] == Position(1, 13)


def test_escapes_in_quoted_keys():
    assert index_positions('"a\\tb" = 1')[("a\tb",)] == Position(1, 1)


def test_an_item_deeper_than_python_calls_go():
    depth = 1500
    index = index_positions("x = " + "[" * depth + "]" * depth)
    assert index[("x", *[0] * (depth - 1))] == Position(1, 4 + depth)


def paths(value, path=()):
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from paths(item, (*path, key))


def toml(value):
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(toml(item) for item in value) + "]"
    return repr(value)


values = st.recursive(
    st.integers(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["a", "b", '"c d"', "e"]), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from(["a", "b", '"c d"']), values))
def test_the_index_has_every_path_that_the_reader_of_values_has(table):
    """Cross-check: two TOML readers have to agree on which keys there are."""
    text = "\n".join(f"{key} = {toml(value)}" for key, value in table.items())
    assert set(index_positions(text)) == set(paths(tomllib.loads(text)))


def test_the_index_has_every_path_of_the_example(plain_path):
    text = plain_path.read_text(encoding="utf-8")
    index = index_positions(text)
    assert set(index) == set(paths(tomllib.loads(text)))
    lines = text.splitlines()
    for path, (line, column) in index.items():
        if path and isinstance(path[-1], str):
            assert lines[line - 1][column - 1 :].startswith(path[-1]), path
