import re
from dataclasses import replace

import numpy as np
import pytest

from netsim.analysis import Analysis
from netsim.report.figures.spread_figure import Levels, spread_figure
from netsim.report.notation import flagged
from netsim.report.page.tube_and_antenna_section import tube_and_antenna_section

LEVELS = Levels(
    matched=np.array([-50.0, -np.inf, np.nan, -70, -80, -90, -100, -110, -200]),
    lowest=np.array([-60.0, -np.inf, np.nan, -80, -90, -100, -110, -120, -210]),
    highest=np.array([-40.0, -np.inf, np.nan, -60, -70, -80, -90, -100, -190]),
    measured=None,
    limit=-43.0,
    frequency=7e6,
)


def test_bars_run_from_least_to_most_with_the_matched_level_between() -> None:
    drawing = spread_figure(LEVELS, "x", "40 m").drawing
    bars = [
        tuple(map(float, bar))
        for bar in re.findall(r'class="range[^"]*"[^>]*d="M[\d.]+ ([\d.]+)V([\d.]+)"', drawing)
    ]
    ticks = [float(y) for y in re.findall(r'class="matched-level"[^>]*d="M[\d.]+ ([\d.]+)h', drawing)]
    assert len(bars) == len(ticks) == 7  # none where nothing flows
    for (top, bottom), tick in zip(bars[:-1], ticks[:-1], strict=True):
        assert tick - top == pytest.approx(bottom - tick, abs=0.15)  # ten dB to either side
    assert drawing.count("range beyond") == 1


def test_a_bar_past_the_limit_is_told_in_the_table() -> None:
    rows = spread_figure(LEVELS, "x", "40 m").rows
    assert [int(order) for order, *_ in rows] == list(range(2, 11))
    assert ["flag" in highest for *_, highest in rows] == [True, *[False] * 8]
    assert rows[0][2:] == ("-50.0 dBc", "-60.0 dBc", flagged("-40.0 dBc"))
    assert rows[1][2] == rows[2][4] == "–"


def test_a_measured_antenna_has_marks_instead() -> None:
    figure = spread_figure(
        replace(LEVELS, lowest=None, highest=None, measured=LEVELS.matched + 9), "x", "40 m"
    )
    assert figure.measured
    assert 'class="range' not in figure.drawing
    assert figure.drawing.count("here miss") == 1
    assert figure.rows[0][3:] == (flagged("-41.0 dBc"),)


def test_the_section_gives_the_spread_of_the_evidence(on_the_air: Analysis) -> None:
    """Cross-check with the finding, which is worked out apart."""
    section = tube_and_antenna_section(on_the_air, "10 m", [5], 5, "band-6")
    finding = next(f for f in on_the_air.verdict.findings if f.code == "harmonic_spread" and f.band == "10 m")
    highest = max(float(re.search(r"[-\d.]+(?= dBc)", row[-1])[0]) for row in section.spread.rows)
    assert highest == pytest.approx(finding.value, abs=0.06)
    assert "cannot be known" in section.spread.drawing
