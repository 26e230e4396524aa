"""Windings that cannot be, and what is said of them: the rule, the line, the remedy."""

import pytest
from samples import amplifier_from, edited

from netsim.description.models.coils import Coil, WindingSection
from netsim.description.reader import read
from netsim.errors import DescriptionError

TUBING = """kind = "solenoid"
turns = 7
mean_diameter = "52 mm"
length = "70 mm"
conductor_diameter = "6 mm"
wall = "0.8 mm"
"""


def found(path, folder, *changes):
    """Problems of the example with some pieces of its text replaced."""
    with pytest.raises(DescriptionError) as caught:
        amplifier_from(edited(path, *changes), folder)
    return caught.value.problems


def test_the_example_is_read_in_si(wound):
    network = read(wound).description.network
    tubing, wire = network.coil.winding
    assert (tubing.turns, tubing.mean_diameter, tubing.turn_pitch) == (7.0, 0.052, pytest.approx(0.01))
    assert (wire.pitch, wire.gap, wire.perpendicular) == (0.005, 0.015, False)
    assert (network.coil.unused_turns, network.coil.taps) == ("progressive", (6.0, 8.0, 12.0, 17.0))
    assert (network.coil.tap_step, network.coil.lead_inductance) == (0.25, 0.0)
    assert (network.coil.temperature, network.coil.q_allowance) == (60.0, 0.7)
    assert network.output_coil.temperature == 70.0
    assert network.output_coil.winding[1].inductance_per_turn_squared == 15e-9
    assert read(wound).description.stage.duty == 0.4
    assert [band.coil_turns for band in read(wound).description.bands] == [25, 17, 12, 8, 8]


def test_a_file_without_windings_has_none(plain):
    amplifier = read(plain)
    assert amplifier.description.network.coil.winding == ()
    assert amplifier.description.stage.duty == 1.0


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "words"),
    [
        # The bad inputs that are named in the format's description.
        ("coil_turns = 25\n", "coil_turns = 28.5\n", "turns_beyond_winding", "bands[0].coil_turns", "28 turns"),
        ("output_coil_turns = 18", "output_coil_turns = 18.5", "fraction_on_toroid", "", "choose 18 or 19"),
        ("turns = 14", "turns = 14.5", "fraction_on_toroid", "network.output_coil.winding[1].turns", "write 14"),
        ('pitch = "5 mm"', 'pitch = "2 mm"', "pitch_below_conductor", "", "raise the pitch"),
        ('length = "70 mm"', 'length = "35 mm"', "pitch_below_conductor", "", "found 5 mm"),
        ('diameter = "63 mm"', 'diameter = "2.5 mm"', "diameter_below_conductor", "", "interchanged"),
        ("coil_turns = 17\n", 'coil_turns = 17\ncoil = "6 uH"\n', "conflict", "bands[1].coil_turns", "keep one"),
        ("\ncoil_turns = 17\n", "\n", "missing_key", "bands[1].coil", "coil_turns = 7.5"),
        ("taps = [6, 8, 12, 17]", "taps = [6, 12, 8, 17]", "taps_order", "network.coil.taps[2]", "found 8 after 12"),
        ("taps = [6, 8, 12, 17]", "taps = [6, 6, 12, 17]", "taps_order", "network.coil.taps[1]", "each once"),
        ("taps = [6, 8, 12, 17]", "taps = [6, 8, 12, 29]", "turns_beyond_winding", "network.coil.taps[3]", "28"),
        ('length = "70 mm"', 'length = "70 mm"\npitch = "9 mm"', "conflict", "", "make 63 mm"),
        ('length = "70 mm"\n', "", "missing_key", "network.coil.winding[0].pitch", "pitch or length"),
        # And others of the kind.
        ("unloaded_q = 220", "unloaded_q = 220\ncore_loss_share = 1.5", "out_of_range", "", "0 to 1"),
        ('gap = "15 mm"', 'gap = "15 mm"\nperpendicular = true', "conflict", "", "is perpendicular"),
        ('wall = "0.8 mm"', 'wall = "0.8 mm"\ngap = "9 mm"', "conflict", "", "no solenoid before it"),
        ('wall = "0.8 mm"', 'wall = "4 mm"', "conflict", "network.coil.winding[0].wall", "half the conductor"),
        ('gap = "15 mm"', 'gap = "15 mm"\nperpendicular = "true"', "wrong_type", "", "without quotes"),
        ('metal = "aluminium"', 'metal = "brass"', "bad_choice", "network.output_coil.winding[0].metal", "'copper'"),
        ('kind = "toroid"', 'kind = "toroid"\npitch = "5 mm"', "conflict", "", "belongs to a solenoid"),
        ("unloaded_q = 220\n", "", "missing_key", "network.output_coil.winding[1].unloaded_q", "toroid"),
        ("output_coil_turns = 9", "", "missing_key", "bands[2].output_coil", "pi-L"),
        ('gap = "15 mm"', 'gap = "15 uH"', "wrong_dimension", "network.coil.winding[1].gap", "length"),
        ("temperature = \"70 degC\"", 'temperature = "70 K"', "wrong_dimension", "", "60 degC"),
        ('wall = "0.8 mm"', 'wal = "0.8 mm"', "unknown_key", "network.coil.winding[0].wal", "'wall'"),
        ('air_gap = "4 mm"', 'air_gap = "4 mm"\nvoltage_rating = "5 kV"', "conflict", "", "in place of"),
        ('air_gap = "4 mm"\n', "", "conflict", "network.tune_capacitor.altitude", "only beside air_gap"),
        ("duty = 0.4", "duty = 1.2", "out_of_range", "stage.duty", "0.001 to 1"),
    ],
)  # fmt: skip
def test_each_mistake_has_its_code_place_and_remedy(wound, tmp_path, old, new, code, key, words):
    problems = found(wound, tmp_path, (old, new))
    problem = problems[0]
    assert problem.code == code
    assert words in problem.message
    assert key in (problem.key or "")
    changed = edited(wound, (old, new)).splitlines()
    original = wound.read_text().splitlines()
    if code != "missing_key":
        first = next(i for i, pair in enumerate(zip(original, changed, strict=False)) if pair[0] != pair[1])
        assert abs(problem.line - 1 - first) <= 1
    assert len(problems) == 1


def test_part_of_a_core_is_not_shorted(wound, tmp_path):
    # The other bands use all of the core, or none of it, which is no harm.
    (problem,) = found(wound, tmp_path, ('unused_turns = "open"', 'unused_turns = "strap"'))
    assert (problem.code, problem.key) == ("toroid_shorted", "bands[1].output_coil_turns")
    assert "write unused_turns" in problem.message
    assert "tap at 10 or 24" in problem.message
    lines = wound.read_text().splitlines()
    assert lines[problem.line - 1] == "output_coil_turns = 18"


def test_left_out_unused_turns_are_open_where_a_core_is(wound, tmp_path):
    text = edited(wound, ('unused_turns = "open"\n', ""), ('unused_turns = "progressive"\n', ""))
    network = amplifier_from(text, tmp_path).description.network
    assert (network.coil.shorting, network.output_coil.shorting) == ("strap", "open")
    assert read(wound).description.network.coil.shorting == "progressive"


def test_more_turns_than_are_solved(wound, tmp_path):
    (problem,) = found(wound, tmp_path, ("turns = 21", "turns = 321"))
    assert problem.code == "too_many_turns"
    assert "found 328" in problem.message


def test_the_output_coil_counts_its_gap_from_the_tank_coil(wound, tmp_path):
    first = '[[network.output_coil.winding]]\nkind = "solenoid"\nturns = 10\n'
    text = edited(wound, (first, f'{first}gap = "30 mm"\n'))
    assert amplifier_from(text, tmp_path).description.network.output_coil.winding[0].gap == 0.03
    first = '[[network.coil.winding]]\nkind = "solenoid"\nturns = 7\n'
    (problem,) = found(wound, tmp_path, (first, f'{first}gap = "30 mm"\n'))
    assert (problem.code, problem.key) == ("conflict", "network.coil.winding[0].gap")
    assert "no solenoid before it" in problem.message


def test_turns_need_a_winding(plain, tmp_path):
    (problem,) = found(plain, tmp_path, ('coil = "5.8 uH"', "coil_turns = 7.5"))
    assert (problem.code, problem.key) == ("conflict", "bands[1].coil_turns")
    assert "[[network.coil.winding]]" in problem.message


@pytest.mark.parametrize(
    "line",
    [
        "taps = [3, 4]",
        'strap_inductance = "20 nH"',
        'temperature = "70 degC"',
        "unloaded_q = 240",
        "q_allowance = 0.8",
    ],
)
def test_keys_of_a_winding_do_not_stand_alone(plain, tmp_path, line):
    (problem,) = found(plain, tmp_path, ("[network.coil]\n", f"[network.coil]\n{line}\n"))
    assert problem.code == "conflict"
    assert problem.key == f"network.coil.{line.split()[0]}"


def test_rules_of_bands_are_told_beside_mistakes_elsewhere(wound, tmp_path):
    comma = 'plate_voltage = "2.6 kV"', 'plate_voltage = "2,6 kV"'
    problems = found(wound, tmp_path, comma, ("coil_turns = 25\n", "coil_turns = 99\n"))
    assert [problem.code for problem in problems] == ["comma_in_number", "turns_beyond_winding"]


def test_a_spacing_given_twice_alike_is_no_contradiction(wound, tmp_path):
    text = edited(wound, ('length = "70 mm"', 'length = "70 mm"\npitch = "10 mm"'))
    assert amplifier_from(text, tmp_path).description.network.coil.winding[0].turn_pitch == 0.01


def test_a_perpendicular_section_and_a_band_with_an_inductance(wound, tmp_path):
    text = edited(
        wound, ('gap = "15 mm"', "perpendicular = true"), ("\ncoil_turns = 17\n", '\ncoil = "6.2 uH"\n')
    )
    assert amplifier_from(text, tmp_path).description.bands[1].coil == 6.2e-6


def test_models_can_be_built_in_si():
    section = WindingSection(
        kind="solenoid", turns=10, mean_diameter=0.05, pitch=0.005, conductor_diameter=0.002
    )
    assert Coil(winding=(section,), taps=(2.5, 7)).turns == 10


@pytest.mark.parametrize(
    ("text", "metres"), [("55 mm", 0.055), ("5.5 cm", 0.055), ("2 inch", 0.0508), ("0.25 in", 0.00635)]
)
def test_lengths(text, metres):
    section = WindingSection(
        kind="solenoid", turns=1, mean_diameter=text, pitch="3 mm", conductor_diameter="1 mm"
    )
    assert section.mean_diameter == pytest.approx(metres, rel=1e-12)


PLATE = 'winding = { turns = 110, diameter = "25 mm", length = "100 mm", conductor_diameter = "%s" }'


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "words"),
    [
        (
            'inductance = "60 nH"\n',
            "",
            "missing_key",
            "network.suppressor.inductance",
            "[network.suppressor.winding]",
        ),
        (
            'inductance = "60 nH"',
            'inductance = "60 nH"\nwinding = { turns = 3, diameter = "12 mm", length = "15 mm" }',
            "conflict",
            "network.suppressor.inductance",
            "keep one",
        ),
        (
            "q = 80",
            PLATE % "1 mm",
            "conflict",
            "network.plate_choke.winding.conductor_diameter",
            "leave 909.091",
        ),
        (
            "q = 80",
            'winding = { turns = 2, diameter = "25 mm", length = "100 mm", conductor_diameter = "30 mm" }',
            "conflict",
            "network.plate_choke.winding.conductor_diameter",
            "below the diameter of the turns, 25 mm",
        ),
        ('topology = "pi"', 'topology = "pi"\nplate_lead_inductance = "70 uH"', "out_of_range", "", "70"),
        ("q = 300\n", "q = 300\ncoupling = 0.1\n", "unknown_key", "network.coil.coupling", ""),
    ],
)
def test_what_leads_and_small_coils_cannot_be(plain, tmp_path, old, new, code, key, words):
    problems = found(plain, tmp_path, (old, new))
    assert code in [problem.code for problem in problems]
    problem = next(p for p in problems if p.code == code)
    assert key in (problem.key or "")
    assert words in problem.message


def test_wire_that_just_fits(plain, tmp_path):
    assert amplifier_from(edited(plain, ("q = 80", PLATE % "0.909 mm")), tmp_path)


@pytest.mark.parametrize("value", ["1.0", "-1.2"])
def test_coupling_stays_below_one(plain, tmp_path, value):
    (first, *_) = found(
        plain, tmp_path, ('topology = "pi"', f'topology = "pi-L"\n[network.output_coil]\ncoupling = {value}')
    )
    assert first.key == "network.output_coil.coupling"


def test_more_turns_on_one_axis_than_are_solved(wound, tmp_path):
    first = '[[network.output_coil.winding]]\nkind = "solenoid"\nturns = 10\n'
    (problem,) = found(wound, tmp_path, (first, first.replace("10", "285") + 'gap = "30 mm"\n'))
    assert (problem.code, problem.key) == ("too_many_turns", "network.output_coil.winding")
    assert "300 turns in all" in problem.message
