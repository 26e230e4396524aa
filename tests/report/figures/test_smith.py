import re
from xml.etree import ElementTree

import pytest

from netsim.analysis import Analysis
from netsim.report.figures.smith import GRID, smith_figure, smith_grid
from netsim.report.figures.smith_path import moves


def test_the_chart_refers_to_a_real_resistance_between_both_ends(solved_plain: Analysis) -> None:
    """Derived: the geometric mean of 50 ohm and the plate load."""
    figure = smith_figure(solved_plain, 0, "x-smith", "80 m")
    number = float(figure.reference.split(" ")[0])
    load = solved_plain.verdict.stage.plate_load_ohm
    assert number == pytest.approx((50 * load) ** 0.5, rel=5e-3)


def test_steps_are_numbered_on_the_chart_and_in_the_table(solved: Analysis) -> None:
    figure = smith_figure(solved, 0, "x-smith", "80 m")
    texts = re.findall(r"<text[^>]*>(\d+)</text>", figure.drawing)
    assert sorted(map(int, texts)) == [int(number) for number, *_ in figure.rows]
    assert len(figure.rows) == len(moves(solved, 0)) + 1
    assert figure.rows[0][-1] == "50 + j0 Ω"
    assert {how for _, _, how, _ in figure.rows[1:]} == {"across", "in series"}


def test_the_last_step_is_what_the_plate_sees(solved: Analysis) -> None:
    seen = solved.solved.plate_impedance[0]
    last = smith_figure(solved, 0, "x-smith", "80 m").rows[-1][-1]
    assert float(last.split(" ")[0]) == pytest.approx(seen.real, rel=5e-3)


def test_numbers_do_not_lie_on_each_other(solved: Analysis) -> None:
    """Circles of about 9 px radius on a chart of 400."""
    for row in range(len(solved.solved.frequency)):
        drawing = smith_figure(solved, row, "x-smith", "80 m").drawing
        places = [
            complex(float(x), float(y))
            for x, y in re.findall(r'<text[^>]* x="([\d.]+)" y="([\d.]+)"[^>]*>\d+</text>', drawing)
        ]
        assert len(places) > 5
        assert min(abs(a - b) for i, a in enumerate(places) for b in places[i + 1 :]) > 12


def test_the_grid_is_drawn_once_and_used_by_every_chart(solved_plain: Analysis) -> None:
    grid = smith_grid()
    root = ElementTree.fromstring(grid)
    assert [e.get("id") for e in root.iter("{http://www.w3.org/2000/svg}g") if e.get("id") == GRID] == [GRID]
    assert grid.count("<path") > 15
    figure = smith_figure(solved_plain, 0, "x-smith", "80 m")
    assert f'<use href="#{GRID}"/>' in figure.drawing
    assert len(figure.drawing) < 12_000
