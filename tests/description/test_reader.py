"""Files good and bad: what is read, and what is said about what cannot be."""

import hashlib
import os
import socket

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from netsim.description import source
from netsim.description.reader import read
from netsim.errors import DescriptionError


@pytest.fixture
def write(tmp_path):
    def _write(content):
        path = tmp_path / "amplifier.toml"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return _write


def problems(path):
    with pytest.raises(DescriptionError) as caught:
        read(path)
    return caught.value.problems


def only(path):
    (problem,) = problems(path)
    return problem


def edited(text, old, new, count=1):
    assert old in text
    return text.replace(old, new, count)


def test_the_example(plain_path):
    amplifier = read(plain_path)
    assert amplifier.path == str(plain_path)
    assert amplifier.sha256 == hashlib.sha256(plain_path.read_bytes()).hexdigest()
    assert amplifier.description.stage.plate_voltage == 2600.0
    assert [band.name for band in amplifier.description.bands] == ["80 m", "40 m", "20 m"]
    assert amplifier.description.bands[0].frequencies == (3.5e6, 3.8e6)
    assert amplifier.description.network.plate_choke.series_resonances == (24.6e6,)
    lines = amplifier.text.splitlines()
    line, column = amplifier.position("bands", 1, "coil")
    assert lines[line - 1][column - 1 :] == 'coil = "5.8 uH"'
    line, column = amplifier.position("bands", 0, "frequencies", 1)
    assert lines[line - 1][column - 1 :] == '"3.8 MHz"]'


def test_a_key_not_written_stands_where_its_table_does(plain_path):
    amplifier = read(plain_path)
    assert amplifier.position("network", "coil", "winding", "turns") == amplifier.position("network", "coil")
    assert amplifier.position("nothing") == (1, 1)


def test_a_byte_order_mark_and_carriage_returns_change_nothing(write, plain_text, plain_path):
    amplifier = read(write(b"\xef\xbb\xbf" + plain_text.replace("\n", "\r\n").encode()))
    assert amplifier.description == read(plain_path).description
    assert amplifier.position("bands", 1, "coil") == read(plain_path).position("bands", 1, "coil")


def test_missing(tmp_path):
    problem = only(tmp_path / "none.toml")
    assert problem.code == "file_missing"
    assert problem.file == str(tmp_path / "none.toml")


def test_directory(tmp_path):
    assert only(tmp_path).code == "file_is_directory"


def test_a_name_no_file_can_have():
    assert only("a\0b").code == "file_unreadable"
    assert only("x" * 5000).code == "file_unreadable"


def test_pipe_socket_and_device_are_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert only(tmp_path / "pipe").code == "file_not_regular"
    assert only("/dev/zero").code == "file_not_regular"
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(os.path.relpath(tmp_path / "s"))
        assert only(tmp_path / "s").code == "file_not_regular"


def test_no_permission(write, plain_text, monkeypatch):
    path = write(plain_text)

    def refuse(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(source.Path, "open", refuse)  # as root, file modes refuse nothing
    assert only(path).code == "file_unreadable"


@pytest.mark.parametrize("content", [b"", b" \n\t\r\n"])
def test_empty(write, content):
    assert only(write(content)).code == "file_empty"


def test_too_large_is_not_read_whole(write):
    assert only(write(b"#" * 10_000_000)).code == "file_too_large"
    assert only(write(b"#" * (source.MOST_BYTES + 1))).code == "file_too_large"
    assert {problem.code for problem in problems(write(b"#" * source.MOST_BYTES))} == {"missing_key"}


@pytest.mark.parametrize("codec", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_wide_encodings(write, plain_text, codec):
    problem = only(write(plain_text.encode(codec)))
    assert problem.code == "file_not_text"


def test_bytes_that_are_not_utf_8_are_named_with_their_place(write, plain_text):
    content = plain_text.encode().replace(b"Plain example", b"Pl\xe4in example")
    problem = only(write(content))
    assert problem.code == "file_not_text"
    assert f"byte {content.index(0xE4)} (0xe4, line 2)" in problem.message
    assert (problem.line, problem.column) == (2, 12)
    marked = only(write(b"\xef\xbb\xbf" + content))
    assert f"byte {content.index(0xE4) + 3} " in marked.message
    assert (marked.line, marked.column) == (2, 12)


def test_binary(write):
    assert only(write(bytes(range(256)) * 20)).code == "file_not_text"
    assert only(write(b"\x7fELF\x02\x01\x01\x00\x00")).code == "file_not_text"


@pytest.mark.parametrize(
    "old_and_new", [('title = "', "title = "), ("q = 80", "q = "), ("[stage]", "[stage")]
)
def test_syntax(write, plain_text, old_and_new):
    text = edited(plain_text, *old_and_new)
    problem = only(write(text))
    assert problem.code == "toml_syntax"
    assert "=" in text.splitlines()[problem.line - 1] or "[" in text.splitlines()[problem.line - 1]


def test_a_syntax_error_at_the_end_has_a_place(write):
    problem = only(write('title = "x"\na = """'))
    assert problem.code == "toml_syntax"
    assert problem.line == 2


@pytest.mark.parametrize(
    "text", ['title = "a"\ntitle = "b"\n', "[stage]\n[stage]\n", "a = 1\na.b = 2\n", "a = {b = 1, b = 2}\n"]
)
def test_duplicate_keys(write, text):
    problem = only(write(text))
    assert problem.code == "duplicate_key"
    assert problem.line is not None


@pytest.mark.parametrize("depth", [3000, 100_000])
@pytest.mark.parametrize("shape", ["[{}]", "{{a = {}}}"])
def test_deep_nesting(write, depth, shape):
    before, after = shape.format("\0").split("\0")
    problem = only(write("a = " + before * depth + "1" + after * depth))
    assert problem.code == "too_deeply_nested"


@pytest.mark.parametrize(
    "text",
    [
        ".".join(["a"] * 200_000) + " = 1",
        "[" + " . ".join(['"a"'] * 100_000) + "]",
        "x = {" + ".".join(["'a'"] * 100_000) + " = 1}",
        "[" + ".".join(["a"] * 3000) + "]",
    ],
)
def test_long_dotted_keys_are_refused_before_they_cost_time(write, text):
    assert only(write(text)).code == "too_deeply_nested"


def test_a_long_run_without_dots_costs_no_time(write):
    assert only(write("a" * 900_000)).code == "toml_syntax"


def test_huge_integers_and_impossible_dates(write, plain_text):
    assert only(write(edited(plain_text, "q = 80", "q = 1" + "0" * 5000))).code == "toml_syntax"
    assert only(write(edited(plain_text, "q = 80", "q = 1" + "0" * 400))).code == "not_a_number"
    assert only(write(edited(plain_text, "q = 80", "q = 2024-02-31"))).code == "toml_syntax"
    assert only(write(edited(plain_text, "q = 80", "q = 2024-02-28"))).code == "wrong_type"


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "words"),
    [
        ('"2.6 kV"', '"2,6 kV"', "comma_in_number", "stage.plate_voltage", "'26 kV'"),
        ('"2.6 kV"', "2600", "unit_missing", "stage.plate_voltage", '"2600 V"'),
        ('"2.6 kV"', "true", "wrong_type", "stage.plate_voltage", '"2.6 kV"'),
        ('"2.6 kV"', "[1]", "wrong_type", "stage.plate_voltage", "found an array"),
        ('"2.6 kV"', '"2.6 MV"', "out_of_range", "stage.plate_voltage", "100 V to 20 kV"),
        ('"2.6 kV"', '"2.6 kA"', "wrong_dimension", "stage.plate_voltage", "'kA'"),
        ("q = 80", "q = nan", "not_a_number", "network.plate_choke.q", "finite"),
        ("q = 80", "q = -inf", "not_a_number", "network.plate_choke.q", "finite"),
        ("q = 80", 'q = "80"', "wrong_type", "network.plate_choke.q", "without quotes"),
        (
            "plate_current",
            "plate_curent",
            "unknown_key",
            "stage.plate_curent",
            "did you mean 'plate_current'",
        ),
        (
            "[network.coil]",
            "width = 3\n[network.coil]",
            "unknown_key",
            "network.load_padding.width",
            "one of source",
        ),
        ("[antenna]", "topology = 'pi'\n[antenna]", "unknown_key", "stage.topology", "belongs in [network]"),
        ("[network.coil]", "[network.coyl]", "unknown_key", "network.coyl", "did you mean 'coil'"),
        ('topology = "pi"', 'topology = "L"', "bad_choice", "network.topology", "'pi' or 'pi-L'"),
        ('["24.6 MHz"]', '"24.6 MHz"', "wrong_type", "network.plate_choke.series_resonances", '["24.6 MHz"]'),
        ("loaded_q = [8, 20]", "loaded_q = [8]", "wrong_length", "limits.loaded_q", "more entries"),
        ("loaded_q = [8, 20]", "loaded_q = [8, 9, 10]", "wrong_length", "limits.loaded_q", "at most 2"),
        ('["3.5 MHz", "3.8 MHz"]', "[]", "wrong_length", "bands[0].frequencies", '["7.1 MHz"]'),
        ('["3.5 MHz", "3.8 MHz"]', '["3.5 mHz"]', "out_of_range", "bands[0].frequencies[0]", "'3.5 MHz'"),
        ('name = "40 m"', 'name = "80 m"', "duplicate_name", "bands[1].name", "'80 m'"),
        ('name = "40 m"', "name = 40", "wrong_type", "bands[1].name", "in quotes"),
        ('name = "40 m"', "", "missing_key", "bands[1].name", "name ="),
        ('coil = "5.8 uH"', "", "missing_key", "bands[1].coil", 'coil = "10.6 uH"'),
        ('minimum = "15 pF"', "", "missing_key", "network.tune_capacitor.minimum", "minimum ="),
    ],
)
def test_each_mistake_has_its_code_key_place_and_remedy(write, plain_text, old, new, code, key, words):
    text = edited(plain_text, old, new)
    found = {problem.key: problem for problem in problems(write(text))}
    problem = found[key]
    assert problem.code == code
    assert words in problem.message
    line = text.splitlines()[problem.line - 1]
    if code == "missing_key":
        assert line.startswith("[")
    elif not key.endswith("]"):
        assert key.rpartition(".")[2] in line
    # A misspelt key leaves the right one missing; nothing else may follow from one mistake.
    assert set(found) - {key} <= {"stage.plate_current", "network.coil"}


@pytest.mark.parametrize(("text", "words"), [("bands = 3", "[[bands]]"), ("[bands]", "[[bands]]")])
def test_bands_that_are_no_array_of_tables(write, text, words):
    problem = next(problem for problem in problems(write(text)) if problem.key == "bands")
    assert problem.code == "wrong_type"
    assert words in problem.message


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file(write, plain_text):
    text = edited(plain_text, '"2.6 kV"', "2600")
    text = edited(text, "q = 300", "q = 3")
    text = edited(text, 'name = "40 m"', 'name = "80 m"')
    text = edited(text, 'coil = "2.9 uH"', 'coil = "2.9 uF"')
    found = problems(write(text))
    assert [problem.key for problem in found] == ["stage.plate_voltage", "network.coil.q", "bands[2].coil"]
    assert [problem.line for problem in found] == sorted(problem.line for problem in found)


def test_rules_between_network_and_bands_are_told_beside_a_mistake_in_the_stage(write, plain_text):
    text = edited(plain_text, '"2.6 kV"', "2600")
    text = edited(text, 'name = "40 m"', 'name = "80 m"')
    assert [problem.code for problem in problems(write(text))] == ["unit_missing", "duplicate_name"]


def test_a_flood_of_mistakes_is_cut_short(write, plain_text):
    found = problems(write("\n".join(f"k{i} = 1" for i in range(1000)) + "\n" + plain_text))
    assert len(found) == 51
    assert found[-1].code == "more_problems"
    assert "950" in found[-1].message


def test_text_in_braces_is_no_template(write, plain_text):
    problem = only(write(edited(plain_text, '"2.6 kV"', '"{rule} {0} %s"')))
    assert "'{rule} {0} %s'" in problem.message


def survives(path):
    """Read the file; anything but a description or a DescriptionError with a clear text gets out."""
    try:
        read(path)
    except DescriptionError as error:
        return error.problems
    return ()


@given(content=st.binary(max_size=300))
def test_any_bytes(tmp_path_factory, content):
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_bytes(content)
    found = survives(path)
    assert found
    assert all(problem.code and problem.message and problem.file for problem in found)


PIECES = st.sampled_from(
    [
        *["[", "]", '"', "=", "{", "}", "[[bands]]", "[network]", "0", "-", ",", "nan", "1e999", "kV", "µ"],
        *("\n", "\0", "\u2028", "tune = '9 pF'\n", "a.b.c = 1\n", "= 3\n", "= []\n", "= {}\n", "= [[]]\n"),
    ]
)


@settings(max_examples=300)
@given(data=st.data())
def test_mutated_examples(tmp_path_factory, plain_text, data):
    text = plain_text
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(start + 40, len(text))))
        text = text[:start] + data.draw(PIECES) + text[end:]
    path = tmp_path_factory.getbasetemp() / "mutated.toml"
    path.write_text(text, encoding="utf-8")
    assert all(problem.code and problem.message for problem in survives(path))


VALUES = st.recursive(
    st.sampled_from(['"7 MHz"', '"2 kV"', "3", "-1.5", "true", "nan", "07:32:00", "'pi'", '"9 pF"', '""']),
    lambda inner: (
        st.lists(inner, max_size=2).map(lambda items: f"[{', '.join(items)}]")
        | inner.map(lambda item: f"{{ q = {item} }}")
    ),
    max_leaves=4,
)


@settings(max_examples=300)
@given(data=st.data())
def test_examples_with_values_interchanged(tmp_path_factory, plain_text, data):
    lines = plain_text.splitlines()
    keyed = [number for number, line in enumerate(lines) if " = " in line]
    for number in data.draw(st.lists(st.sampled_from(keyed), min_size=1, max_size=4)):
        lines[number] = f"{lines[number].partition(' = ')[0]} = {data.draw(VALUES)}"
    path = tmp_path_factory.getbasetemp() / "values.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    for problem in survives(path):
        assert problem.line is not None
        assert problem.key is None or problem.column is not None
