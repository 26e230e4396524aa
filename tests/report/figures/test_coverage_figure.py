import re

import pytest

from netsim.advice.coverage import coverage_maps
from netsim.description.reader import loads, read
from netsim.report.figures.coverage_figure import coverage_figure


@pytest.fixture(scope="module")
def old(circuits):
    return {m.band: coverage_figure(m, "c") for m in coverage_maps(read(circuits / "old-tubes.toml"))}


@pytest.fixture(scope="module")
def new(circuits):
    return {m.band: coverage_figure(m, "c") for m in coverage_maps(read(circuits / "new-tube.toml"))}


def test_what_is_served_is_a_dot_and_what_is_not_a_triangle(old, new):
    for band, figure in old.items():
        assert "miss" not in figure.loads, band
        assert 'circle class="here"' in figure.settings
    assert new["80 m"].loads.count("miss") == 3
    assert "miss" in new["10 m"].settings
    assert "out of reach" in new["10 m"].settings
    assert "miss" not in new["15 m"].settings


def test_the_answer_stands_in_words_with_its_numbers(old, new):
    assert old["80 m"].answer == (
        "plate loads served with loaded Q in its window: 1.32 kΩ to 2.03 kΩ; wanted 1.91 kΩ"
    )
    assert "window: none; wanted 3.19 kΩ" in new["10 m"].answer


def test_tables_hold_every_frequency_and_the_wanted_plate_load(old, new):
    assert [frequency for frequency, *_ in old["80 m"].load_rows] == ["3.5 MHz", "3.65 MHz", "3.8 MHz"]
    rows = {plate_load: row for plate_load, *row in new["80 m"].setting_rows}
    _, load, reached = rows["3.19 kΩ"]
    assert reached == "no"
    assert load.endswith("nF")
    assert "yes" in [reached for *_, reached in rows.values()]


def test_figures_are_small_and_have_each_its_own_ids(old):
    for figure in old.values():
        assert len(figure.loads + figure.settings) < 7000
        ids = re.findall(r' id="([^"]*)"', figure.loads + figure.settings)
        assert len(ids) == len(set(ids)) == 6


def test_without_any_match_there_is_still_a_figure(circuits):
    text = (
        (circuits / "old-tubes.toml")
        .read_text(encoding="utf-8")
        .replace('coil = "1.95 uH"', 'coil = "60 uH"')
    )
    maps = {m.band: m for m in coverage_maps(loads(text, "large.toml"))}
    figure = coverage_figure(maps["20 m"], "c")
    assert "No pair of settings matches" in figure.settings
    assert "nan" not in figure.loads + figure.settings
    assert {served for *_, served in figure.load_rows} == {"none"}
