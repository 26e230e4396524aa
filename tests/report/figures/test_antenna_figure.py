import re
from dataclasses import replace

import numpy as np
import pytest

from netsim.analysis import Analysis
from netsim.report.figures.antenna_figure import antenna_figure
from netsim.report.tube_and_antenna_words import share_words
from netsim.verdict.any_antenna import AnyAntenna


@pytest.fixture
def found(on_the_air: Analysis) -> AnyAntenna:
    return on_the_air.solved.any_antenna


def figure(found: AnyAntenna, row: int = 5):
    return antenna_figure(found, row, "x", "10 m", (29.6e6, 50.0))


def area(drawing: str, css: str) -> float:
    """Area of the ring pieces of a path, from their own arcs."""
    paths = re.findall(rf'class="{css}" d="([^"]*)"', drawing)
    if not paths:
        return 0.0
    total = 0.0
    for piece in paths[0].split("Z")[:-1]:
        total += _circle(piece) if "L" not in piece else _sector(piece)
    return abs(total)


def _circle(piece: str) -> float:
    rings = piece.split("M")[1:]
    radius = float(re.search(r"A([\d.]+)", rings[0])[1])
    return np.pi * radius**2 * (1 if " 0 1 0 " in rings[0] else -1)


def _sector(piece: str) -> float:
    numbers = [float(v) for v in re.findall(r"-?[\d.]+", piece)]
    x0, y0, outer, _, _, large, _, x1, y1 = numbers[:9]
    first, last = (np.arctan2(200 - y, x - 200) for x, y in ((x0, y0), (x1, y1)))
    angle = (last - first) % (2 * np.pi)
    assert (angle > np.pi) == bool(large)
    inner = float(re.search(r"L[^A]*A([\d.]+)", piece)[1]) if piece.count("A") == 2 else 0.0
    return angle / 2 * (outer**2 - inner**2)


def test_the_region_has_the_share_of_the_words(found: AnyAntenna) -> None:
    """Derived: what is filled as unmatched over the disc is the share that is told, by the same rings."""
    drawn = figure(found)
    disc = area(drawn.drawing, "can") + area(drawn.drawing, "cannot")
    radius = float(re.search(r'class="outer"[^>]* r="([\d.]+)"', drawn.drawing)[1])
    assert disc == pytest.approx(np.pi * radius**2, rel=0.01)
    share = area(drawn.drawing, "cannot") / disc
    assert 0.1 < share < 0.5
    assert share == pytest.approx(float(found.unmatched_share[5]), abs=0.006)


def test_a_load_is_where_a_chart_has_it(found: AnyAntenna) -> None:
    """Published convention of the chart: inductive above, capacitive below; 10 m lacks the capacitive ones."""
    missed = found.impedance[5][~found.matched[5]]
    assert missed.imag.mean() < 0
    (path,) = re.findall(r'class="cannot" d="([^"]*)"', figure(found).drawing)
    heights = [float(y) for y in re.findall(r"M[\d.]+ ([\d.]+)", path)]
    assert np.mean(heights) > 200  # down in a drawing


def test_where_all_can_be_matched_nothing_is_filled_red(found: AnyAntenna) -> None:
    drawn = figure(found, 0)
    assert found.matched[0].all()
    assert 'class="cannot"' not in drawn.drawing
    assert drawn.answer == "every antenna up to an SWR of 2 can be matched"
    assert {unmatched for _, unmatched, *_ in drawn.rows} == {"0 %"}
    assert share_words(found, 0) == "none"


def test_where_none_can_be_matched(found: AnyAntenna) -> None:
    drawn = figure(replace(found, matched=np.zeros_like(found.matched)))
    assert 'class="can"' not in drawn.drawing
    assert "none can be matched" in drawn.answer


def test_rows_are_the_rings(found: AnyAntenna) -> None:
    rows = figure(found).rows
    assert len(rows) == 8
    assert rows[-1][0] == "2"
    worst = found.plate_swr[5].reshape(8, -1).max(axis=1)
    assert [float(plate_swr) for _, _, plate_swr, *_ in rows] == pytest.approx(worst, abs=0.005)


def test_a_measured_antenna_is_one_mark(found: AnyAntenna) -> None:
    loads = slice(7, 8)
    one = replace(
        found,
        swr=None,
        **{
            name: getattr(found, name)[:, loads]
            for name in (
                "reflection",
                "impedance",
                "matched",
                "plate_swr",
                "output_power",
                "plate_dissipation",
            )
        },
    )
    drawn = figure(one, 0)
    assert drawn.measured
    assert drawn.drawing.count('class="here"') == 1
    assert "can be matched" in drawn.answer
    missed = figure(replace(one, matched=np.zeros_like(one.matched)), 0)
    assert "here miss" in missed.drawing
    assert "cannot" in missed.answer
