"""The box on the page and in the terminal: cautions before a hand goes in, figures that show what was solved."""

import re
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console, Group

from netsim.analysis import Analysis, analyse
from netsim.description.reader import read
from netsim.report.figures.box.drive_figure import draw_input_swr
from netsim.report.figures.box.heat_figure import draw_heat_path
from netsim.report.figures.box.supply_figure import draw_arc, draw_switch_on
from netsim.report.figures.chart import BOTTOM, LEFT, RIGHT, TOP
from netsim.report.page.box.box_section import box_section
from netsim.report.page.page import render
from netsim.report.terminal import box_text


def test_parts_that_lead_a_hand_in_have_cautions_before_them(boxed: Analysis) -> None:
    page = render(boxed)
    box = page[page.index('id="box"') :]
    for part in box_section(boxed):
        section = box[box.index(f'id="{part.anchor}"') :].partition("</section>")[0]
        if part.hand:
            first = min(section.index(tag) for tag in ("<table", "<svg", "<details") if tag in section)
            assert section.index("local codes and licensed practice") < first
    assert {part.anchor for part in box_section(boxed) if part.hand} == {
        "box-bias",
        "box-supply",
        "box-meters",
    }


def test_the_network_comes_first(boxed: Analysis) -> None:
    page = render(boxed)
    assert page.index('id="fails"') < page.index('id="bench"') < page.index('id="box"')


def test_a_page_without_a_box_has_none(plain: Path) -> None:
    result = analyse(read(plain), engine="two-port", samples=1)
    assert box_section(result) == ()
    assert 'id="box"' not in render(result)
    assert box_text.render(result.verdict.box) == ()


def test_names_of_pieces_are_escaped(circuits: Path) -> None:
    amplifier = read(circuits / "whole-box.toml").replace({"cooling.path[insulator].name": "<b>x</b>&"})
    page = render(analyse(amplifier, band="10 m", engine="two-port", samples=1))
    assert "<b>x</b>&" not in page
    assert "&lt;b&gt;x&lt;/b&gt;&amp;" in page


def test_the_figures_show_what_was_solved(boxed: Analysis) -> None:
    assert boxed.solved.box is not None
    state = boxed.solved.box.supply
    assert state is not None
    assert state.arc is not None
    # The arc's curve starts at its peak, 1/1.08 of the way up, and falls to the right.
    points = curve(str(draw_arc(state, "x")), "plate")
    assert points[0] == pytest.approx((LEFT, BOTTOM - (BOTTOM - TOP) / 1.08), abs=0.1)
    assert (np.diff([y for _, y in points]) >= 0).all()
    # The capacitors' voltage rises to what is there when the resistor is bridged.
    rising = curve(str(draw_switch_on(state, "y")), "plate")
    assert rising[0][1] == pytest.approx(BOTTOM, abs=0.1)
    assert rising[-1][0] == pytest.approx(RIGHT, abs=0.1)
    assert rising[-1][1] < TOP + 0.12 * (BOTTOM - TOP)


def test_the_heat_path_falls_to_the_air(boxed: Analysis) -> None:
    cooling = boxed.verdict.box.cooling
    assert cooling is not None
    drawn = str(draw_heat_path(cooling, 35.0, 200.0, "z"))
    points = curve(drawn, "plate")
    assert len(points) == len(cooling.joints) + 1
    assert (np.diff([y for _, y in points]) > 0).all()
    assert "anode to clamp 142 °C" in drawn


def test_every_frequency_is_a_mark(boxed: Analysis) -> None:
    rows = boxed.verdict.box.input
    assert rows
    assert str(draw_input_swr(rows, "w")).count('class="here"') == len(rows)


def test_the_terminal_says_the_cautions_and_the_figures(boxed: Analysis) -> None:
    console = Console(width=80, record=True, file=StringIO())
    console.print(Group(*box_text.render(boxed.verdict.box)))
    told = console.export_text()
    assert told.index("Local codes") < told.index("Bias")
    for words in ("118 A pk", "181 J", "13.4 s", "insulator 108", "1.10"):
        assert words in told
    assert max(map(len, told.splitlines())) <= 80


def curve(drawing: str, css: str) -> list[tuple[float, float]]:
    (data,) = re.findall(rf'class="{css}" clip-path="[^"]*" d="M([^"]*)"', drawing)
    return [tuple(map(float, pair.split())) for pair in data.split("L")]


def test_curve_points_lie_on_curves_that_gave_them(circuits: Path) -> None:
    # Points made by Child's law itself, by hand: K (v_g + v_p / mu)^1.5 tanh(v_p / V_k); the fit finds the law again.
    def read_off(plate: float, grid: float) -> list[str]:
        current = 2.5e-3 * max(grid + plate / 150, 0) ** 1.5 * np.tanh(plate / 90)
        return [f"{plate:g} V", f"{grid:g} V", f"{current:.6f} A"]

    points = [
        read_off(plate, grid)
        for grid in (-8.0, -4.0, -0.5)
        for plate in (200.0, 1500.0, 2000.0, 2500.0, 3000.0)
    ]
    points = [point for point in points if not point[2].startswith("0.0000")]
    amplifier = read(circuits / "whole-box.toml").replace(
        {
            "tube.amplification_factor": None,
            "tube.perveance": None,
            "tube.knee_voltage": None,
            "tube.curve_points": points,
        }
    )
    result = analyse(amplifier, band="10 m", engine="two-port", samples=1)
    (bias, *_) = box_section(result)
    drawn = str(bias.drawings[0].shapes)
    assert drawn.count('class="plate"') == 3
    assert drawn.count('class="here"') + drawn.count('class="here miss"') == len(points)
    assert any(name == "They miss the curve points by" for name, _ in bias.facts)
    # A mark lies on its curve: the same current at the same voltage.
    curves = [
        np.array([tuple(map(float, pair.split())) for pair in data.split("L")])
        for data in re.findall(r'class="plate" clip-path="[^"]*" d="M([^"]*)"', drawn)
    ]
    for x, y in re.findall(r'class="here" cx="([\d.]+)" cy="([\d.]+)"', drawn):
        apart = [abs(np.interp(float(x), c[:, 0], c[:, 1]) - float(y)) for c in curves]
        assert min(apart) < 1.5
