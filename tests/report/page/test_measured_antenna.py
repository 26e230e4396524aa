"""A measured antenna on page and terminal: one antenna is no circle of them, what was not measured is unknown."""

import re

import pytest
from samples import amplifier_from, edited

from netsim.analysis import analyse
from netsim.cli.console import paper
from netsim.report.page.page import render
from netsim.report.terminal import result_text, tube_and_antenna_text


@pytest.fixture(scope="module")
def walked(tmp_path_factory):
    from pathlib import Path

    plain = Path(__file__).parents[2] / "examples" / "plain.toml"
    folder = tmp_path_factory.mktemp("measured")
    (folder / "wire.s1p").write_text("# MHz S MA R 50\n1 0.5 0\n6 0.5 -170\n31 0.5 -1020\n")
    return analyse(amplifier_from(edited(plain, ("worst_swr = 2.0", 'measured = "wire.s1p"')), folder))


def words(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_the_page_tells_of_one_antenna(walked):
    page = words(render(walked))
    assert "the measured antenna, SWR 3 at" in page
    for wrong in ("worst of 1 antennas", "all of the antennas", "antennas up to an SWR", "nan dBc", "-inf"):
        assert wrong not in page
    assert "unknown: beyond the measurement" in page


def test_the_page_shows_what_was_not_measured_and_where_points_are_sparse(walked):
    page = words(render(walked))
    assert "To look at again" in page
    assert "wire.s1p ends at 31 MHz: what harmonics from 31.5 MHz on meet is unknown" in page
    assert "wire.s1p: around 3.5 MHz, 3.8 MHz, 7.05 MHz, 7.15 MHz, 14.05 MHz, 14.3 MHz neighbouring" in page


def test_the_page_says_what_two_engines_checked(walked):
    page = words(render(walked))
    assert "Of other antennas ngspice also solved the one of each band that uses a limit most." in page
    assert "On its worst antenna" in page
    checked = [one.worst_relative for one in walked.solved.any_antenna.checked]
    assert len(checked) == 3
    assert all(f"{apart:.1e}" in page for apart in checked)


def test_without_other_antennas_none_was_checked(plain, tmp_path):
    page = words(render(analyse(amplifier_from(plain.read_text(), tmp_path), swr=1.0)))
    assert "On its worst antenna" not in page
    assert "On one solver alone rest the response over frequency and the maps" in page
    assert "To look at again" not in page


def test_the_terminal_tells_of_one_antenna(walked, capsys):
    import sys

    shown = result_text.render(walked.verdict, "a.toml", tube_and_antenna_text.render(walked))
    paper(sys.stdout).print(shown)
    out = capsys.readouterr().out
    told = " ".join(out.split())
    assert "On the measured antenna, re-tuned within range:" in told
    assert "cannot be matched" not in told.partition("On the measured antenna")[2].partition("look at")[0]
    assert "To look at again: line 16: wire.s1p: around 3.5 MHz" in told
    assert "wire.s1p ends at 31 MHz" in told
    for wrong in ("worst of 1 antennas", "antennas up to an SWR", "nan", "inf "):
        assert wrong not in told
