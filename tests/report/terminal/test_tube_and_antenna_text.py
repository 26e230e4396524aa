from io import StringIO

import pytest
from rich.console import Console

from netsim.analysis import Analysis
from netsim.report.page.page import render as page
from netsim.report.terminal.tube_and_antenna_text import render
from netsim.report.tube_and_antenna_words import most_used


def shown(result: Analysis) -> str:
    stream = StringIO()
    Console(file=stream, width=80).print(*render(result), sep="\n")
    return stream.getvalue()


@pytest.fixture(scope="module")
def text(on_the_air: Analysis) -> str:
    return shown(on_the_air)


def test_each_band_has_its_large_signal_dip_and_antennas(on_the_air: Analysis, text: str) -> None:
    assert max(map(len, text.splitlines())) <= 80
    for band in on_the_air.verdict.bands:
        lines = [line for line in text.splitlines() if line.strip().startswith(band.name)]
        large, dip, antennas = lines
        found = band.points[0].large_signal
        assert f"{found.plate_current_dc_ampere * 1e3:.0f} mA" in large
        # One output: that of the bands' own table.
        assert f"{found.output_watt:.0f} W" not in large
        assert f"{found.plate_current_dc_ampere * 1e3:.0f} mA at the match" in dip
        assert most_used(on_the_air, band.name).part.replace("_", " ").capitalize() in antennas
    assert "none" in antennas or "about" in antennas


def test_the_most_used_part_is_the_worst_finding(on_the_air: Analysis) -> None:
    worst = max(
        (f for f in on_the_air.verdict.findings if f.case == "any_antenna" and f.part not in ("network",)),
        key=lambda finding: finding.used_fraction,
    )
    assert most_used(on_the_air, worst.band) == worst


def test_it_says_what_cannot_be_known(text: str) -> None:
    assert "cannot be known from the" in text


def test_nothing_for_a_file_that_asks_for_none(solved: Analysis) -> None:
    assert solved.solved.any_antenna is None
    assert render(solved) == ()


def test_a_page_without_it_carries_neither_its_style_nor_its_words(
    solved: Analysis, on_the_air: Analysis
) -> None:
    plain, full = page(solved), page(on_the_air)
    for words in (
        ".match-line",
        "Load line",
        "What the meters show",
        "cannot be known from the network alone",
    ):
        assert words not in plain
        assert words in full
    assert full.count("What the meters show") == len(on_the_air.verdict.bands)
