"""Every bad input of an amplifier file through the command itself: exit 2, one clear error, no traceback."""

import json
import os

import pytest

from netsim.report.code_reference import code_reference

BREAKS = ["\n", "\r", "\x0b", "\x0c", "\x1c", "\x1d", "\x1e", "\x85", "\u2028", "\u2029"]


def in_toml(text: str) -> str:
    """Write any text as a TOML basic string, by escapes."""
    return '"' + "".join(f"\\U{ord(character):08X}" for character in text) + '"'


def swapped(old: str, new: str):
    def change(text: str) -> str:
        assert old in text
        return text.replace(old, new, 1)

    return change


COIL_80 = 'coil = "11.2 uH"'
FILES = {
    "empty": (lambda text: "", "file_empty"),
    "blank": (lambda text: " \n\t\n", "file_empty"),
    "binary": (lambda text: bytes(range(256)) * 8, "file_not_text"),
    "a picture": (lambda text: b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "file_not_text"),
    "Latin-1": (lambda text: text.replace("Plain", "Pl\xe4in").encode("latin-1"), "file_not_text"),
    "UTF-16": (lambda text: text.encode("utf-16"), "file_not_text"),
    "10 MB": (lambda text: text + "#" * 10_000_000, "file_too_large"),
    "nested 3,000 deep": (lambda text: text + "\nx = " + "[" * 3000 + "]" * 3000, "too_deeply_nested"),
    "duplicate key": (swapped(COIL_80, f"{COIL_80}\n{COIL_80}"), "duplicate_key"),
    "duplicate table": (swapped("[antenna]", "[stage]"), "duplicate_key"),
    "quote not closed": (swapped('"2.6 kV"', '"2.6 kV'), "toml_syntax"),
}
VALUES = {
    "wrong unit": (COIL_80, 'coil = "11.2 pF"', "wrong_dimension"),
    "unknown unit": (COIL_80, 'coil = "11.2 uHy"', "unit_unknown"),
    "comma": ('"2.6 kV"', '"2,6 kV"', "comma_in_number"),
    "bare number": (COIL_80, "coil = 11.2", "unit_missing"),
    "bare number in quotes": (COIL_80, 'coil = "11.2"', "unit_missing"),
    "m for M": ('"3.5 MHz"', '"3.5 mHz"', "out_of_range"),
    "full-width digits": ('"2.6 kV"', '"２.６ kV"', "not_a_number"),
    "NaN in quotes": (COIL_80, 'coil = "nan uH"', "not_a_number"),
    "NaN": ("q = 300", "q = nan", "not_a_number"),
    "inf": ("q = 300", "q = inf", "not_a_number"),
    "inf in quotes": (COIL_80, 'coil = "inf uH"', "not_a_number"),
    "1e400 in quotes": (COIL_80, 'coil = "1e400 uH"', "not_a_number"),
    "1e400": ("q = 300", "q = 1e400", "not_a_number"),
    "negative": (COIL_80, 'coil = "-11.2 uH"', "out_of_range"),
    "zero": (COIL_80, 'coil = "0 uH"', "out_of_range"),
    "formula": (COIL_80, 'coil = "9**9**9 uH"', "not_a_number"),
    "minimum above maximum": ('minimum = "15 pF"', 'minimum = "300 pF"', "conflict"),
    "frequency out of range": ('"3.5 MHz"', '"350 MHz"', "out_of_range"),
    "two bands of one name": ('name = "40 m"', 'name = "80 m"', "duplicate_name"),
    "plate_load beside minimum_plate_voltage": (
        'minimum_plate_voltage = "380 V"',
        'minimum_plate_voltage = "380 V"\nplate_load = "2.8 kohm"',
        "conflict",
    ),
    "minimum above plate voltage": (
        'minimum_plate_voltage = "380 V"',
        'minimum_plate_voltage = "3 kV"',
        "conflict",
    ),
    "plate_load too large": (
        'minimum_plate_voltage = "380 V"',
        'plate_load = "40 kohm"',
        "plate_load_too_large",
    ),
    "pi-L without output coil": ('topology = "pi"', 'topology = "pi-L"', "missing_key"),
    "tune without load": (COIL_80, f'{COIL_80}\ntune = "100 pF"', "conflict"),
    "unknown key": ("q = 300", "quality = 300", "unknown_key"),
    "blank title": ('title = "Plain example, one tube and a pi network"', 'title = " "', "bad_text"),
}


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_no_amplifier(netsim, write, plain_text, name):
    spoil, code = FILES[name]
    path = write(spoil(plain_text))
    assert_refused(netsim, path, code)


@pytest.mark.parametrize("name", VALUES)
def test_a_value_that_cannot_be(netsim, write, plain_text, name):
    old, new, code = VALUES[name]
    path = write(swapped(old, new)(plain_text))
    run = assert_refused(netsim, path, code)
    shown = next(error for error in json.loads(run.out)["errors"] if error["code"] == code)
    assert shown["line"] is not None
    assert f"amplifier.toml:{shown['line']}:{shown['column']}: {shown['key']}" in run.err
    assert "^" in run.err


def test_no_band(netsim, write, plain_text):
    assert_refused(netsim, write(plain_text[: plain_text.index("[[bands]]")]), "missing_key")
    assert_refused(
        netsim, write("bands = []\n" + plain_text[: plain_text.index("[[bands]]")]), "wrong_length"
    )


def test_missing_file(netsim, tmp_path):
    run = assert_refused(netsim, tmp_path / "none.toml", "file_missing")
    assert "netsim new FILE" in run.err


def test_directory(netsim, tmp_path):
    assert_refused(netsim, tmp_path, "file_is_directory")


def test_device_and_pipe(netsim, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert_refused(netsim, tmp_path / "pipe", "file_not_regular")
    assert_refused(netsim, "/dev/zero", "file_not_regular")


def test_a_byte_order_mark_is_no_mistake(netsim, write, plain_text):
    path = write(b"\xef\xbb\xbf" + plain_text.encode())
    assert netsim("check", path, "--engine", "two-port").status in (0, 1)


def test_several_mistakes_are_told_in_one_run_each_with_its_line(netsim, write, plain_text):
    text = (
        plain_text.replace("q = 300", "q = -1")
        .replace(COIL_80, "coil = 11.2")
        .replace('"2.6 kV"', '"2,6 kV"')
    )
    run = netsim("check", write(text))
    assert run.status == 2
    assert run.out == ""
    for line in ('plate_voltage = "2,6 kV"', "q = -1", "coil = 11.2"):
        assert f"| {line}\n" in run.err
    assert "3 mistakes; nothing was solved. Next: netsim explain comma_in_number" in run.err


@pytest.mark.parametrize("place", ["title", "name", "source"])
@pytest.mark.parametrize("character", BREAKS, ids=lambda c: f"U+{ord(c):04X}")
def test_texts_that_hold_a_line_break(netsim, write, plain_text, place, character):
    """Line breaks in texts could run commands if they ever reached a netlist."""
    attack = in_toml(f"80 m{character}.control{character}shell touch /tmp/never{character}.endc")
    path = write(with_text(plain_text, place, attack))
    run = assert_refused(netsim, path, "bad_text")
    assert not set(run.err) & set(BREAKS) - {"\n"}


@pytest.mark.parametrize(
    "attack",
    [".control", ".include /etc/passwd", "<script>alert(1)</script>", "[bold]{{ 7*7 }}", "=1+1", "-o"],
)
def test_texts_that_mean_something_elsewhere_are_only_text(netsim, write, plain_text, attack):
    path = write(with_text(with_text(plain_text, "title", in_toml(attack)), "name", in_toml(attack)))
    run = netsim("check", path, "--json", "--engine", "two-port")
    assert run.status in (0, 1)
    verdict = json.loads(run.out)
    assert verdict["title"] == attack
    assert verdict["bands"][0]["name"] == attack
    shown = netsim("check", path, f"--band={attack}", "--engine", "two-port")
    assert shown.status in (0, 1)
    assert attack in shown.out
    for form in ("netlist", "touchstone"):
        exported = netsim("export", path, f"--band={attack}", "--format", form, "--engine", "two-port")
        assert exported.status == 0
        assert attack not in exported.out.replace("-o FILE", "") or attack == "-o"


def test_a_file_name_that_moves_the_cursor_is_written_out(netsim, tmp_path):
    run = netsim("check", tmp_path / "a\x1b[2Jb\nc.toml")
    assert run.status == 2
    assert "\x1b" not in run.err
    assert r"a\x1b[2Jb\nc.toml" in run.err


def with_text(text: str, place: str, value: str) -> str:
    """Put a text in the title, the first band's name or a part's source."""
    lines = {"title": "title = ", "name": "name = ", "source": "source = "}
    start = text.index(lines[place])
    return text[:start] + lines[place] + value + text[text.index("\n", start) :]


def assert_refused(netsim, path, code):
    """Exit 2; the code on stdout as JSON, the text on stderr, no traceback; a code that can be explained."""
    run = netsim("check", path, "--json")
    assert run.status == 2
    told = json.loads(run.out)
    assert told["schema_version"] == 1
    assert code in [error["code"] for error in told["errors"]]
    for error in told["errors"]:
        assert set(error) == {"code", "message", "file", "line", "column", "key"}
        assert error["code"] in code_reference()
        assert error["file"] == str(path)
        assert f"[{error['code']}]" in run.err
    assert "Traceback" not in run.err
    assert "Next: netsim " in run.err
    return run


def test_usage_errors_answer_in_json_too(netsim):
    """Even where the option for it stands behind the mistake."""
    run = netsim("check", "x.toml", "--nope", "--json")
    assert run.status == 2
    assert json.loads(run.out)["errors"][0]["code"] == "usage"
    assert "--nope" in run.err


def test_too_little_memory_is_no_fault_of_ours(netsim, plain, monkeypatch):
    def greedy(*_, **__):
        raise MemoryError

    monkeypatch.setattr("netsim.analysis.analysis.solve", greedy)
    run = netsim("check", plain, "--engine", "two-port", "--json")
    assert run.status == 3
    assert json.loads(run.out)["errors"][0]["code"] == "out_of_memory"


@pytest.mark.parametrize("name", ["", ".", "a/.."])
def test_a_new_file_wants_a_name(netsim, name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a").mkdir()
    run = netsim("new", name)
    assert run.status == 2
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


def test_output_to_a_link_to_itself(netsim, plain, tmp_path):
    loop = tmp_path / "loop"
    loop.symlink_to(loop)
    run = netsim("report", plain, "-o", loop, "--engine", "two-port")
    assert run.status == 2
    assert "output_not_writable" in run.err
