"""Readings of the bench: the contract's examples, and every rule with what to do about it."""

import math

import pytest

from netsim.description.reader import loads
from netsim.description.touchstone import load_reading
from netsim.errors import DescriptionError

DIAL = 'dial = [[0, "15 pF"], [50, "100 pF"], [100, "250 pF"]]\n'


def with_dials(plain_text):
    load_dial = 'dial = [[0, "30 pF"], [100, "1.5 nF"]]\n'
    for maximum, dial in (("250 pF", DIAL), ("1500 pF", load_dial)):
        line = f'maximum = "{maximum}"\n'
        assert plain_text.count(line) == 1
        plain_text = plain_text.replace(line, line + dial)
    return plain_text


COLD = {
    "what": '"cold match"',
    "band": '"40 m"',
    "frequency": '"7.1 MHz"',
    "plate_resistor": '"3.3 kohm"',
    "tune_dial": "41.5",
    "load_dial": "72",
    "impedance": '"47 - 6j ohm"',
    "uncertainty": '"3 %"',
}
OUTPUT = {"what": '"output"', "band": '"40 m"', "frequency": '"7.1 MHz"', "output": '"780 W +- 5 %"'}
INDUCTANCE = {"what": '"inductance"', "turns": "9.75", "inductance": '"2.0 uH +- 3 %"'}
CAPACITANCE = {
    "what": '"capacitance"',
    "part": '"tune_capacitor"',
    "dial": "50",
    "capacitance": '"139 pF +- 2 %"',
}


def text_of(plain_text, reading, **changes):
    entries = {key: value for key, value in {**reading, **changes}.items() if value is not None}
    lines = "\n".join(f"{key} = {value}" for key, value in entries.items())
    return f"{with_dials(plain_text)}\n[[measured]]\n{lines}\n"


def read_one(plain_text, reading, **changes):
    return loads(text_of(plain_text, reading, **changes)).description.measured[0]


def test_the_four_kinds(plain_text, root):
    cold = read_one(plain_text, COLD, note='"after lunch"')
    assert cold.impedance == 47 - 6j
    assert cold.half_width("impedance") == pytest.approx(0.03 * abs(47 - 6j), rel=1e-9, abs=0)
    assert (cold.tune_dial, cold.load_dial, cold.plate_resistor) == (41.5, 72.0, 3300.0)
    output = read_one(plain_text, OUTPUT, plate_voltage='"2.75 kV"', plate_current='"510 mA"')
    assert output.output.value == 780.0
    assert output.half_width("output") == pytest.approx(39.0, rel=1e-9, abs=0)
    assert output.plate_voltage == 2750.0
    capacitance = read_one(plain_text, CAPACITANCE)
    assert capacitance.half_width("capacitance") == pytest.approx(2.78e-12, rel=1e-9, abs=0)
    wound = (root / "circuits/new-tube.toml").read_text(encoding="utf-8")
    reading = "\n".join(f"{key} = {value}" for key, value in {**INDUCTANCE, "q": '"240 +- 15 %"'}.items())
    inductance = loads(f"{wound}\n[[measured]]\n{reading}\n").description.measured[0]
    assert inductance.q.half_width == pytest.approx(36.0, rel=1e-9, abs=0)
    assert inductance.coil == "coil"


@pytest.mark.parametrize(
    ("changes", "key", "half_width"),
    [
        ({"uncertainty": None}, "impedance", 0.05 * math.hypot(47, 6)),
        ({"impedance": None, "swr": "1.15", "uncertainty": None}, "swr", 0.05),
        ({"impedance": None, "swr": "1.15", "uncertainty": "0.1"}, "swr", 0.1),
        ({"impedance": None, "swr": "1.2", "uncertainty": '"10 %"'}, "swr", 0.12),
        ({"impedance": None, "swr": '"1.2 +- 0.02"', "uncertainty": None}, "swr", 0.02),
    ],
)
def test_uncertainties_of_the_contract(plain_text, changes, key, half_width):
    assert read_one(plain_text, COLD, **changes).half_width(key) == pytest.approx(half_width, rel=1e-9, abs=0)


def test_output_by_voltage_and_by_deflection(plain_text):
    volts = read_one(plain_text, OUTPUT, output=None, voltage_peak='"279 V"', load_resistance='"50 ohm"')
    assert volts.voltage_peak.value == 279.0
    screen = read_one(
        plain_text,
        OUTPUT,
        output=None,
        deflection="2.8",
        reference_deflection='"1.0 +- 0.05"',
        reference_output='"100 W"',
    )
    assert screen.half_width("deflection") == pytest.approx(0.14, rel=1e-9, abs=0)
    assert screen.half_width("reference_deflection") == pytest.approx(0.05, rel=1e-9, abs=0)


@pytest.mark.parametrize(
    ("reading", "changes", "code", "key", "words"),
    [
        (COLD, {"band": '"11 m"'}, "unknown_band", "band", "the file has '80 m'"),
        (COLD, {"band": None}, "missing_key", "band", 'band = "40 m"'),
        (COLD, {"frequency": '"14.2 MHz"'}, "other_band", "frequency", "7.05 MHz to 7.15 MHz"),
        (COLD, {"frequency": None}, "missing_key", "frequency", "7.15 MHz"),
        (COLD, {"file": '"cold.s1p"', "impedance": None}, "conflict", "frequency", "stand in the file"),
        (COLD, {"tune_dial": "101"}, "dial_outside", "tune_dial", "from 0 to 100; found 101"),
        (COLD, {"tune": '"58 pF"'}, "conflict", "tune", "tune_dial says the same setting"),
        (COLD, {"tune_dial": None}, "missing_key", "tune", "tune_dial = 41.5"),
        (COLD, {"tune_dial": None, "tune": '"5 pF"'}, "out_of_range", "tune", "15 pF to 250 pF"),
        (COLD, {"swr": "1.2"}, "conflict", "swr", "two readings"),
        (COLD, {"impedance": None}, "missing_key", "impedance", "one of impedance, swr, file"),
        (COLD, {"impedance": None, "swr": "0.9"}, "out_of_range", "swr", "1 to 1000"),
        (COLD, {"impedance": '"47"'}, "bad_impedance", "impedance", "47 - 6j ohm"),
        (COLD, {"uncertainty": "0.03"}, "unit_missing", "uncertainty", '"3 %"'),
        (COLD, {"uncertainty": '"0 %"'}, "bad_uncertainty", "uncertainty", "above 0"),
        (COLD, {"uncertainty": '"3 ohm"'}, "bad_uncertainty", "uncertainty", "no share"),
        (COLD, {"uncertainty": "true"}, "wrong_type", "uncertainty", "found true"),
        (COLD, {"plate_resistor": None}, "missing_key", "plate_resistor", "3.3 kohm"),
        (COLD, {"output": '"780 W"'}, "conflict", "output", "belongs to a reading of 'output'"),
        (COLD, {"what": '"hot match"'}, "bad_choice", "what", "'cold match'"),
        (OUTPUT, {"output": '"780 W +- 0 %"'}, "bad_uncertainty", "output", "free of uncertainty"),
        (OUTPUT, {"uncertainty": '"3 %"'}, "conflict", "uncertainty", "output has its own"),
        (OUTPUT, {"output": None}, "missing_key", "output", "voltage_peak, deflection"),
        (OUTPUT, {"frequency": None}, "missing_key", "frequency", "7.15 MHz"),
        (OUTPUT, {"tune_dial": "40"}, "missing_key", "load", "both settings"),
        (OUTPUT, {"load_resistance": '"50 ohm"'}, "conflict", "load_resistance", "beside voltage_peak"),
        (OUTPUT, {"output": None, "deflection": "2"}, "missing_key", "reference_deflection", "known output"),
        (OUTPUT, {"reference_output": '"100 W"'}, "conflict", "reference_output", "beside deflection"),
        (INDUCTANCE, {}, "conflict", "turns", "no winding"),
        (INDUCTANCE, {"turns": None}, "missing_key", "turns", "turns = 9.75"),
        (INDUCTANCE, {"band": '"40 m"'}, "conflict", "band", "'cold match' or 'output'"),
        (CAPACITANCE, {"dial": "-1"}, "dial_outside", "dial", "found -1"),
        (CAPACITANCE, {"dial": None}, "missing_key", "dial", "dial = 50"),
        (CAPACITANCE, {"part": '"coil"'}, "bad_choice", "part", "'tune_capacitor'"),
        (CAPACITANCE, {"colour": '"red"'}, "unknown_key", "colour", "no key"),
    ],
)
def test_each_mistake_has_its_place_and_what_to_do(plain_text, reading, changes, code, key, words):
    text = text_of(plain_text, reading, **changes)
    with pytest.raises(DescriptionError) as caught:
        loads(text, "amp.toml")
    found = {problem.key: problem for problem in caught.value.problems}
    problem = found[f"measured[0].{key}"]
    assert problem.code == code
    assert words in problem.message
    line = text.splitlines()[problem.line - 1]
    assert line == "[[measured]]" if code == "missing_key" else line.startswith(f"{key} = ")
    assert problem.column == 1


def test_a_dial_without_a_table(plain_text):
    text = text_of(plain_text, COLD).replace(DIAL, "")
    with pytest.raises(DescriptionError) as caught:
        loads(text)
    assert caught.value.problems[0].code == "dial_missing"
    assert "dial = [[0" in caught.value.problems[0].message


def test_turns_beyond_the_winding(root):
    text = (root / "circuits/new-tube.toml").read_text(encoding="utf-8")
    text += '\n[[measured]]\nwhat = "inductance"\nturns = 31\ninductance = "2 uH"\n'
    with pytest.raises(DescriptionError) as caught:
        loads(text)
    assert caught.value.problems[0].code == "turns_beyond_winding"


def test_limits_of_a_reading_are_no_inputs_but_those_of_the_resistor_are(plain_text):
    amplifier = loads(text_of(plain_text, COLD, plate_resistor='"3.3 kohm +- 1 %"'))
    assert [e.key for e in amplifier.inputs if e.source == "file"] == ["measured[0].plate_resistor"]
    assert not [e for e in loads(text_of(plain_text, OUTPUT)).inputs if e.source == "file"]


SWEEP = "# MHz S RI R 50\n6.5 0.1 0\n7.05 0.2 0.1\n7.1 0.1 0.1\n7.3 0.3 0\n"


def swept(plain_text, folder, content=SWEEP, **changes):
    (folder / "cold.s1p").write_text(content)
    text = text_of(plain_text, COLD, impedance=None, frequency=None, file='"cold.s1p"', **changes)
    return loads(text, str(folder / "amp.toml"))


def test_every_frequency_of_a_file_in_the_band_is_a_reading(plain_text, tmp_path):
    found = load_reading(swept(plain_text, tmp_path), 0)
    assert found.frequency.tolist() == [7.05e6, 7.1e6]
    assert found.scattering[:, 0, 0].tolist() == [0.2 + 0.1j, 0.1 + 0.1j]


def test_a_file_of_another_band(plain_text, tmp_path):
    amplifier = swept(plain_text, tmp_path, band='"20 m"')
    with pytest.raises(DescriptionError) as caught:
        load_reading(amplifier, 0)
    (problem,) = caught.value.problems
    assert problem.code == "other_band"
    assert problem.key == "measured[0].file"
    assert amplifier.text.splitlines()[problem.line - 1] == 'file = "cold.s1p"'


def test_a_file_that_is_not_there_or_broken(plain_text, tmp_path):
    amplifier = swept(plain_text, tmp_path)
    (tmp_path / "cold.s1p").unlink()
    with pytest.raises(DescriptionError) as caught:
        load_reading(amplifier, 0)
    assert caught.value.problems[0].code == "file_missing"
    assert caught.value.problems[0].key == "measured[0].file"
    with pytest.raises(DescriptionError) as caught:
        load_reading(swept(plain_text, tmp_path, "# MHz S RI R 50\n7 2 0\n"), 0)
    assert caught.value.problems[0].code == "not_passive"
    assert caught.value.problems[0].line == 2
