import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from report_cases import variant

from netsim.analysis import Analysis, response
from netsim.report.figures.response import ResponseFigure, response_figure
from netsim.report.notation import flagged


def drawn(solved: Analysis, row: int, limit: float = -43.0) -> ResponseFigure:
    """Draw one network's response."""
    points = [point for band in solved.verdict.bands for point in band.points]
    return response_figure(points[row], response(solved, [row])[0], limit, "x-response", "80 m")


def texts(figure: ResponseFigure) -> list[str]:
    """Every text of a drawing."""
    return [
        "".join(element.itertext())
        for element in ElementTree.fromstring(figure.drawing).iter("{http://www.w3.org/2000/svg}text")
    ]


def test_every_harmonic_is_labelled_with_order_and_level(solved_plain: Analysis) -> None:
    figure = drawn(solved_plain, 0)
    harmonics = solved_plain.verdict.bands[0].points[0].harmonics
    shown = texts(figure)
    for harmonic in harmonics:
        assert harmonic.level_dbc is not None
        assert f"{harmonic.order} · {harmonic.level_dbc:.1f}" in " ".join(shown)
    assert [int(order) for order, *_ in figure.rows] == list(range(2, 11))
    assert figure.rows[0][3] == f"{harmonics[0].level_dbc:.1f} dBc"


@pytest.mark.parametrize(
    ("limit", "labels"),
    [
        (-43.0, {"limit -43 dBc"}),
        (-50.0, {"limit -50 dBc", "43 dB, 47 CFR 97.307 (USA)"}),
        (-60.0, {"limit -60 dBc", "43 dB, 47 CFR 97.307 (USA)"}),
    ],
)
def test_limit_and_lines_of_practice_are_labelled_once(
    solved_plain: Analysis, limit: float, labels: set[str]
) -> None:
    shown = [text for text in texts(drawn(solved_plain, 0, limit)) if "limit" in text or "CFR" in text]
    assert sorted(shown) == sorted(labels)


def test_a_harmonic_above_the_limit_is_marked_by_word_and_colour(solved_plain: Analysis) -> None:
    level = solved_plain.verdict.bands[0].points[0].harmonics[0].level_dbc
    assert level is not None
    below, above = drawn(solved_plain, 0, level + 0.5), drawn(solved_plain, 0, level - 0.5)
    assert not any("over" in text for text in texts(below))
    assert [text for text in texts(above) if "over" in text] == [f"2 · {level:.1f} over"]
    assert ["flag" in margin for *_, margin in above.rows] == [True] + [False] * 8
    assert above.rows[0][-1] == flagged("over: -0.5 dB")
    stem = "stroke: var(--over); stroke-width: 2"
    assert (below.drawing.count(stem), above.drawing.count(stem)) == (0, 1)
    assert f"limit {level - 0.5:g} dBc" in above.drawing.partition("</desc>")[0]


def test_higher_levels_are_drawn_higher(solved_plain: Analysis) -> None:
    """The stems' heights must follow the levels: read back from the drawing."""
    figure = drawn(solved_plain, 0)
    markers = re.findall(
        r'<use xlink:href="#x-response-m[^"]*" x="([\d.]+)" y="([\d.]+)"[^>]*--accent', figure.drawing
    )
    places = sorted((float(x), float(y)) for x, y in markers)
    carrier, *stems = places
    levels = [0.0, *(h.level_dbc or 0.0 for h in solved_plain.verdict.bands[0].points[0].harmonics)]
    per_decibel = (stems[0][1] - carrier[1]) / (levels[0] - levels[1])
    for (_, y), level in zip(places, levels, strict=True):
        assert y - carrier[1] == pytest.approx(-level * per_decibel, abs=0.3)
    # Logarithmic frequency: from order to order the steps shrink.
    steps = [after[0] - before[0] for before, after in pairwise(places)]
    assert all(later < earlier for earlier, later in pairwise(steps))


def test_above_60_megahertz_the_drawing_says_indicative(solved_plain: Analysis) -> None:
    assert "indicative above 60 MHz" not in texts(drawn(solved_plain, 0))
    assert "indicative above 60 MHz" in texts(drawn(solved_plain, 2))


def test_a_pure_cosine_has_no_stems(plain: Path, tmp_path: Path) -> None:
    figure = drawn(variant(plain, tmp_path, conduction_angle='"360 deg"'), 0)
    assert not any("·" in text for text in texts(figure))
    assert {level for _, _, _, level, _ in figure.rows} == {"none flows"}
    assert "no harmonics" in figure.drawing


def test_names_are_escaped(solved_plain: Analysis) -> None:
    point = replace(solved_plain.verdict.bands[0].points[0])
    figure = response_figure(point, response(solved_plain, [0])[0], -43, "x", "<i>80</i>")
    assert "&lt;i&gt;80&lt;/i&gt;" in figure.drawing
