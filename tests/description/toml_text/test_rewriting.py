"""Changes in the text of a file, however it is spelt; expected values are what the standard reader gives back."""

import copy
import random
import subprocess
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from respelling import Respeller

from netsim.description.reader import loads
from netsim.description.toml_text import syntax
from netsim.description.toml_text.positions import index_positions
from netsim.description.toml_text.rewriting import difference, rewrite
from netsim.description.toml_text.values import same
from netsim.errors import DescriptionError

ROOT = Path(__file__).parents[3]
FILES = [
    tomllib.loads(path.read_text(encoding="utf-8"))
    for path in [*sorted(ROOT.glob("circuits/*.toml")), *sorted(ROOT.glob("tests/examples/*.toml"))]
]


def paths(value, here=()):
    """Go through all paths of a table, its own first."""
    yield here
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, item in inner:
        yield from paths(item, (*here, step))


def at(table, path):
    for step in path:
        table = table[step]
    return table


def comments(text):
    return sorted(
        node.text
        for node in _nodes(syntax._parser().parse(text.encode()).root_node)
        if node.type == "comment"
    )


def _nodes(node):
    yield node
    for child in node.children:
        yield from _nodes(child)


def patched(before, diff, folder):
    """Apply a diff with the program of that name, to bytes."""
    copy_of = folder / "amplifier.toml"
    copy_of.write_bytes(before.encode())
    run = subprocess.run(["patch", "-s", str(copy_of)], input=diff.encode(), capture_output=True)
    assert run.returncode == 0, run.stdout + run.stderr
    return copy_of.read_bytes().decode()


@settings(max_examples=300)
@given(seed=st.integers(0, 2**32))
def test_a_respelt_file_says_the_same_and_every_key_has_a_place(seed):
    table = random.Random(seed).choice(FILES)
    text = Respeller(seed).write(table)
    assert tomllib.loads(text) == table
    assert set(index_positions(text)) == set(paths(table))


@settings(max_examples=60)
@given(seed=st.integers(0, 2**32))
def test_a_respelt_file_is_the_same_amplifier(seed):
    table = random.Random(seed).choice(FILES)
    plain = loads(Respeller(0).write(table))
    amplifier = loads(Respeller(seed).write(table))
    assert amplifier.description == plain.description
    changes = {
        "network.tune_capacitor.stray": "9 pF",
        "bands[0].tune_padding": "33 pF",
        "limits.close_to_rating": 0.8,
    }
    changed = amplifier.replace(changes)
    assert changed.description == plain.replace(changes).description != plain.description
    assert comments(changed.text) == comments(amplifier.text)


def some_change(rng, table):
    """Choose a change that a file can take, and make it in the table."""
    here = rng.choice([path for path in paths(table) if path])
    value = at(table, here)
    way = rng.choice(["set", "set", "take away", "key", "table", "item"])
    if way == "key" and isinstance(value, dict):
        here, new = (*here, rng.choice(["new", "n e w", 'n"w'])), rng.choice([5, "x", [1], [{"a": 1}]])
    elif way == "table" and isinstance(value, dict):
        new = {"a": 1.5, "l": [{"k": 1}, {"k": 2}], "empty": {}, "t": {"u": [True, "z"]}}
        here, new = (*here, "new table"), {"deep": new}
    elif way == "item" and isinstance(value, list):
        here, new = (*here, len(value)), {"a": 1} if value and isinstance(value[0], dict) else "item"
    elif way == "take away":
        del at(table, here[:-1])[here[-1]]
        return here, None
    else:
        new = rng.choice([1, "x'\"\\y\u2028", [1, 2], {"a": 1, "b": {"c": 2}}, True, value])
        if isinstance(here[-1], int) and isinstance(value, dict) and not isinstance(new, dict):
            new = {"a": 1}
    around = at(table, here[:-1])
    if isinstance(around, list) and here[-1] == len(around):
        around.append(copy.deepcopy(new))
    else:
        around[here[-1]] = copy.deepcopy(new)
    return here, new


@settings(max_examples=400)
@given(seed=st.integers(0, 2**32))
def test_any_change_of_any_spelling_says_what_it_should(seed):
    rng = random.Random(seed)
    expected = copy.deepcopy(rng.choice(FILES))
    text = Respeller(seed).write(expected)
    changes = [some_change(rng, expected) for _ in range(rng.randint(1, 4))]
    assert same(tomllib.loads(rewrite(text, changes)), expected)


@settings(max_examples=60)
@given(seed=st.integers(0, 2**32))
def test_patch_makes_of_any_spelling_what_was_written(seed, tmp_path_factory):
    rng = random.Random(seed)
    table = copy.deepcopy(rng.choice(FILES))
    table["title"] = rng.choice(["--- a/title", "+++ b", "@@ -1 +1 @@", "\u2028--- x", "a\u0085b", "- -"])
    text = Respeller(seed).write(table)
    after = rewrite(text, [some_change(rng, table) for _ in range(3)])
    assert patched(text, difference(text, after, "amplifier.toml"), tmp_path_factory.getbasetemp()) == after


TEXT = """\
#:schema x
title = "t"     # kept
[network]   # the network
q = 1
  # indented

[network.coil]
q = 300  # three hundred
taps = [
  5.5,   # ten
  7.25,  # fifteen
]

# about the bands
[[bands]]
name = "80 m"

[[bands]]
name = "40 m"
# end of forty
"""


@pytest.mark.parametrize(
    ("changes", "old", "new"),
    [
        ([(("network", "coil", "q"), 5)], "q = 300 ", "q = 5 "),
        ([(("network", "coil", "taps"), [5.5, 8])], "  7.25,  #", "  8,  #"),
        ([(("network", "coil", "taps", 0), None)], "  5.5,   # ten", "  # ten"),
        ([(("network", "x"), "y")], "q = 1\n", 'q = 1\nx = "y"\n'),
        ([(("bands", 0, "coil"), "1 uH")], 'name = "80 m"\n', 'name = "80 m"\ncoil = "1 uH"\n'),
        ([(("network", "coil", "q"), None)], "q = 300  # three hundred\n", ""),
        ([(("bands", 1), None)], '[[bands]]\nname = "40 m"\n# end of forty\n', ""),
        (
            [(("network", "choke"), {"q": 3, "w": {"t": 1}})],
            "]\n\n# about",
            "]\n\n[network.choke]\nq = 3\n\n[network.choke.w]\nt = 1\n\n# about",
        ),
        ([(("bands", 2), {"name": "x"})], "forty\n", 'forty\n\n[[bands]]\nname = "x"\n'),
        ([(("stage", "v"), "1 V")], "forty\n", 'forty\n\n[stage]\nv = "1 V"\n'),
        ([(("measured", 0, "what"), "output")], "forty\n", 'forty\n\n[[measured]]\nwhat = "output"\n'),
    ],
)
def test_only_the_place_that_changes_is_touched(changes, old, new):
    assert TEXT.count(old) == 1
    assert rewrite(TEXT, changes) == TEXT.replace(old, new)
    assert rewrite(TEXT.replace("\n", "\r\n"), changes) == TEXT.replace(old, new).replace("\n", "\r\n")


@pytest.mark.parametrize(
    ("text", "changes", "after"),
    [
        ("a.b = 1", [(("a", "b"), None)], "[a]\n"),
        ("x.a.b = 1\nx.c = 2", [(("x", "a", "b"), None)], "x.c = 2\nx.a = {}"),
        ("a.b = 1", [(("a", "c"), {"d": 2, "e": {"f": 3}})], "a.b = 1\na.c.d = 2\na.c.e.f = 3"),
        ("x = {a.b = 1}", [(("x", "a", "c"), 2)], "x = {a.b = 1, a.c = 2}"),
        ("x = { a = 1, b = 2 }", [(("x", "b"), None)], "x = { a = 1 }"),
        ("x = { a = 1, b = 2 }", [(("x", "a"), None)], "x = { b = 2 }"),
        ("x = [1, 2, 3]", [(("x", 1), None)], "x = [1, 3]"),
        ("x = [1, 2,]", [(("x", 2), 3)], "x = [1, 2, 3,]"),
        ("x = []", [(("x", 0), 3)], "x = [3]"),
        ("[a.b]\nc = 1\n", [(("a", "d"), 2)], "[a]\nd = 2\n\n[a.b]\nc = 1\n"),
        ("[a.b]\nc = 1\n", [(("a", "b"), None)], "[a]\n"),
        ("[a]\nb = 1", [(("t",), "x")], 't = "x"\n\n[a]\nb = 1'),
        ("# only", [(("t",), "x")], '# only\nt = "x"\n'),
        ("a = 1", [(("a",), {"b": 1})], "a = { b = 1 }"),
        ("[a]\nb = 1\n", [(("a",), 3)], "a = 3\n"),
        ("a = 1\n", [(("b",), float("inf")), (("c",), True)], "a = 1\nb = inf\nc = true\n"),
        ("a = 1\n", [(("a",), '\x00\t"\\\x85é')], 'a = "\\u0000\\t\\"\\\\\\u0085é"\n'),
    ],
)
def test_each_kind_of_place(text, changes, after):
    assert rewrite(text, changes) == after


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        (("bands", 5, "name"), "x", "no_such_item"),
        (("bands", 0), 3, "no_such_item"),
        (("bands", 2), 3, "no_such_item"),
        (("title", "x"), 3, "no_such_item"),
        (("new", 1), 3, "no_such_item"),
        (("title",), object(), "wrong_type"),
        (("title",), {"a": {1, 2}}, "wrong_type"),
        (("title",), "\ud800", "wrong_type"),
    ],
)
def test_what_cannot_be_written_is_refused(path, value, code):
    with pytest.raises(DescriptionError) as caught:
        rewrite(TEXT, [(path, value)])
    assert caught.value.problems[0].code == code


@pytest.mark.parametrize(("value", "text"), [(1.0, "1.0"), (True, "true"), (1, "1"), ("1", '"1"')])
def test_one_is_not_true_and_not_one_point_nought(value, text):
    assert rewrite("a = 1", [(("a",), value)]) == f"a = {text}"


def test_numbers_of_arrays_are_numbers():
    np = pytest.importorskip("numpy")
    assert rewrite("a = 1", [(("a",), np.float64(2.5))]) == "a = 2.5"
    assert rewrite("a = 1", [(("a",), np.int32(7))]) == "a = 7"


def test_a_name_that_no_header_can_hold_is_quoted(tmp_path):
    name = 'odd\n"name"'
    diff = difference("a\n", "b\n", name)
    assert diff.splitlines()[:2] == ['--- "odd\\n\\"name\\""\t', '+++ "odd\\n\\"name\\""\t']
    assert patched("a\n", diff, tmp_path) == "b\n"


def test_no_change_has_no_difference():
    assert difference("a\n", "a\n", "x") == ""


def test_a_last_line_without_end_is_marked():
    assert "\\ No newline at end of file" in difference("a\nb", "a\nc", "x")
