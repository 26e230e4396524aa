"""Diameters of a coil, metals, settings as lists, names of bands, and the bounds of every list."""

import pytest

from netsim.circuit.assembly import assemble
from netsim.description.reader import loads
from netsim.errors import DescriptionError, UsageError

SECTION = """
[[network.coil.winding]]
kind = "solenoid"
turns = 10
{diameter}
pitch = "6 mm"
conductor_diameter = "3 mm"
{metal}
"""


@pytest.fixture
def wound(plain_text):
    head, _, tail = plain_text.partition("[network.coil]\n")
    rest = tail[tail.index("\n[") :]

    def make(diameter='mean_diameter = "60 mm"', metal="", coil=""):
        return f"{head}[network.coil]\n{coil}{SECTION.format(diameter=diameter, metal=metal)}{rest}"

    return make


def problem_of(text):
    with pytest.raises(DescriptionError) as caught:
        loads(text)
    return caught.value.problems[0]


@pytest.mark.parametrize(
    ("diameter", "mean"),
    [
        ('mean_diameter = "60 mm"', 60e-3),
        ('outside_diameter = "63 mm"', 60e-3),
        ('inside_diameter = "57 mm"', 60e-3),
    ],
)
def test_three_diameters_of_one_coil(wound, diameter, mean):
    """Derived: centre to centre is one conductor less than over the turns, one more than within them."""
    section = loads(wound(diameter)).description.network.coil.winding[0]
    assert section.turn_diameter == pytest.approx(mean, rel=1e-12)


@pytest.mark.parametrize(
    ("diameter", "code", "key", "words"),
    [
        ("", "missing_key", "mean_diameter", "outside_diameter or inside_diameter"),
        ('mean_diameter = "60 mm"\noutside_diameter = "63 mm"', "conflict", "outside_diameter", "keep one"),
        ('outside_diameter = "5 mm"', "diameter_below_conductor", "outside_diameter", "found 2 mm"),
    ],
)
def test_diameters_that_do_not_go_together(wound, diameter, code, key, words):
    problem = problem_of(wound(diameter))
    assert (problem.code, problem.key) == (code, f"network.coil.winding[0].{key}")
    assert words in problem.message


@pytest.mark.parametrize(
    ("metal", "conducting"),
    [("", "copper"), ("silver-plated", "copper"), ("silver", "silver"), ("aluminium", "aluminium")],
)
def test_metals(wound, metal, conducting):
    text = wound(metal=f'metal = "{metal}"' if metal else "")
    assert loads(text).description.network.coil.winding[0].conducting_metal == conducting


def test_silver_conducts_best(wound):
    q = {
        metal: assemble(
            loads(wound(metal=f'metal = "{metal}"').replace('coil = "5.8 uH"', "coil_turns = 9"))
        ).coil.tapped.q[0]
        for metal in ("copper", "silver", "aluminium")
    }
    assert q["silver"] > q["copper"] > q["aluminium"]


# Settings

TWO = 'frequencies = ["3.5 MHz", "3.8 MHz"]\n'


@pytest.mark.parametrize(
    ("tune", "load", "expected"),
    [
        ('"95 pF"', '"610 pF"', [95e-12, 95e-12]),
        ('["95 pF", "80 pF"]', '["610 pF", "500 pF"]', [95e-12, 80e-12]),
        ('["95 pF", "80 pF"]', '"610 pF"', [95e-12, 80e-12]),
    ],
)
def test_a_setting_for_all_frequencies_or_one_for_each(plain_text, tune, load, expected):
    amplifier = loads(plain_text.replace(TWO, f"{TWO}tune = {tune}\nload = {load}\n"))
    assert amplifier.description.bands[0].settings("tune") == pytest.approx(tuple(expected), rel=1e-12, abs=0)
    assert assemble(amplifier).tune_given[:2] == pytest.approx(expected, rel=1e-12, abs=0)
    assert assemble(amplifier, bands=[0]).load_given.shape == (2,)


@pytest.mark.parametrize(
    ("tune", "code", "words"),
    [
        ('["95 pF"]', "wrong_length", "one setting for each frequency is wanted, 2 in all; found 1"),
        ("[]", "wrong_length", "found 0"),
        ('["95 pF", "9 pF"]', "out_of_range", "found 9 pF"),
        ('["95 pF", 80]', "unit_missing", '"80 pF"'),
        ("{ low = 3 }", "wrong_type", "found a table"),
    ],
)
def test_settings_that_will_not_do(plain_text, tune, code, words):
    problem = problem_of(plain_text.replace(TWO, f'{TWO}tune = {tune}\nload = "610 pF"\n'))
    assert (problem.code, problem.key) == (code, "bands[0].tune")
    assert words in problem.message


# Names


def test_names_that_differ_in_blanks_and_capitals_are_one(plain_text):
    problem = problem_of(plain_text.replace('name = "40 m"', 'name = "80M"'))
    assert problem.code == "duplicate_name"
    assert "'80 m' but for blanks and capitals" in problem.message
    amplifier = loads(plain_text + '\n[[operating_points]]\nname = "low"\nbands = ["80m"]\n')
    assert amplifier.description.operating_points[0].serves("80 m")
    assert not amplifier.description.operating_points[0].serves("40 m")
    assert amplifier.band_index("40M") == 1
    with pytest.raises(UsageError) as caught:
        amplifier.band_index("11 m")
    assert "'80 m', '40 m', '20 m'" in str(caught.value)


# Bounds


def bands(count):
    return "".join(
        f'[[bands]]\nname = "b{n}"\nfrequencies = ["7 MHz"]\ncoil = "5 uH"\n' for n in range(count)
    )


def many(item, count):
    return "[" + ", ".join([item] * count) + "]"


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ("", bands(60), "bands", "at most 50"),
        (TWO, "frequencies = " + many('"3.6 MHz"', 1001) + "\n", "bands[0].frequencies", "at most 1000"),
        ('["24.6 MHz"]', many('"24.6 MHz"', 51), "network.plate_choke.series_resonances", "at most 50"),
        (
            "loaded_q = [8, 20]",
            "padding_stock = " + many('"10 pF"', 101),
            "limits.padding_stock",
            "at most 100",
        ),
    ],
)
def test_a_bound_is_named(plain_text, old, new, key, words):
    text = plain_text.replace(old, new) if old else plain_text + new
    problem = problem_of(text)
    assert (problem.code, problem.key) == ("wrong_length", key)
    assert words in problem.message


def test_the_frequencies_of_all_bands_are_bounded(plain_text):
    each = many('"7 MHz"', 400)
    text = plain_text.partition("[[bands]]")[0] + "".join(
        f'[[bands]]\nname = "b{n}"\nfrequencies = {each}\ncoil = "5 uH"\n' for n in range(3)
    )
    problem = problem_of(text)
    assert problem.code == "too_many_frequencies"
    assert "1000 frequencies in all bands are the most that is solved; found 1200" in problem.message


def test_operating_points_count_towards_the_bound(plain_text):
    """Each is solved at all frequencies of the bands that it serves, on every antenna."""
    each = many('"7 MHz"', 100)
    text = plain_text.partition("[[bands]]")[0] + "".join(
        f'[[bands]]\nname = "b{n}"\nfrequencies = {each}\ncoil = "5 uH"\n' for n in range(3)
    )
    point = '[[operating_points]]\nname = "p{}"\nplate_current = "300 mA"\n'
    problem = problem_of(text + point.format(1) + point.format(2) + point.format(3))
    assert (problem.code, problem.key) == ("too_many_frequencies", "operating_points")
    assert "1000 frequencies in all bands and at all operating points are the most" in problem.message
    assert "found 1200" in problem.message
    served = point.format(3) + 'bands = ["b0"]\n'
    loads(text + point.format(1) + point.format(2) + served)


@pytest.mark.parametrize(
    ("coil", "words"),
    [(f"taps = {many('5', 101)}\n", "at most 100"), ("", "at most 10")],
)
def test_taps_and_sections_are_bounded(wound, coil, words):
    text = wound(coil=coil)
    if not coil:
        section = SECTION.format(diameter='mean_diameter = "60 mm"', metal="")
        text = text.replace(section, section * 11)
    problem = problem_of(text)
    assert problem.code == "wrong_length"
    assert words in problem.message


def test_curve_points_are_bounded(plain_text):
    points = many('["2 kV", "0 V", "310 mA"]', 201)
    problem = problem_of(f'{plain_text}\n[tube]\nconnection = "grounded grid"\ncurve_points = {points}\n')
    assert (problem.code, problem.key) == ("wrong_length", "tube.curve_points")
    assert "at most 200" in problem.message
