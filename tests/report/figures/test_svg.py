import re
from xml.etree import ElementTree

import numpy as np
import pytest
from markupsafe import Markup

from netsim.report.figures import plot, svg

DRAWN = f"""<?xml version="1.0"?>
<!DOCTYPE svg>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="20pt" viewBox="0 0 20 10">
 <metadata>made on some day</metadata><style>*{{stroke:red}}</style>
 <defs><clipPath id="p1"><rect width="1.23456" height="2"/></clipPath></defs>
 <g id="lonely"><path d="M 1.23456 2 L 3 4 L 5 6" clip-path="url(#p1)" style="stroke:{svg.OVER}"/></g>
 <text style="font: 9px 'Some Font', serif; fill: {svg.INK}">2.800 kV</text><use xlink:href="#p1"/>
</svg>"""


def finished(**options: str) -> str:
    """Finish the drawing above with a hostile title."""
    return svg.finish(DRAWN, "band-1-x", "<script>80 m</script>", "tells & shows", "plot", **options)  # type: ignore[arg-type]


def test_only_what_is_referred_to_keeps_an_id_and_that_is_its_own() -> None:
    text = finished()
    assert 'id="band-1-x-p1"' in text
    assert "url(#band-1-x-p1)" in text
    assert 'xlink:href="#band-1-x-p1"' in text
    assert "lonely" not in text


def test_colours_and_fonts_are_the_pages() -> None:
    text = finished()
    assert "var(--over)" in text
    assert "var(--ink)" in text
    assert "font: 9px var(--sans)" in text
    assert "#0" not in text


def test_numbers_are_shortened_in_shapes_but_not_in_texts() -> None:
    text = finished()
    assert "M 1.2 2 L 3 4 5 6" in text
    assert "2.800 kV" in text


def test_nothing_of_the_day_or_of_foreign_style_is_left() -> None:
    for word in ("made on", "<style", "<?xml", "DOCTYPE", 'width="20pt"'):
        assert word not in finished()


def test_title_and_description_are_there_and_escaped() -> None:
    root = ElementTree.fromstring(finished())
    name = "{http://www.w3.org/2000/svg}"
    assert root.findtext(f"{name}title") == "<script>80 m</script>"
    assert root.findtext(f"{name}desc") == "tells & shows"
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "band-1-x-title band-1-x-desc"


def test_the_view_box_can_be_widened_and_shapes_added() -> None:
    assert 'viewBox="0 0 20 10"' in finished()
    assert 'viewBox="-5 0 30 10"' in finished(view_box="-5 0 30 10")
    assert finished(overlay=Markup("<text>more</text>")).endswith("<text>more</text></svg>")


@pytest.mark.parametrize("colour", list(svg.VARIABLES))
def test_no_colour_to_draw_in_hides_in_another(colour: str) -> None:
    assert not any(colour in other for other in svg.VARIABLES if other != colour)


def test_finely_written_outlines_are_thinned_and_stay_what_they_are() -> None:
    """Derived: a circle of 640 points keeps one in ten, which leaves it within 0.5 % of its area."""
    turns = np.arange(640) / 640 * 2 * np.pi
    points = " ".join(f"{30 * np.cos(t):.1f},{30 * np.sin(t):.1f}" for t in turns)
    drawn = DRAWN.replace("</svg>", f'<polygon points="{points}"/></svg>')
    kept = re.search(r' points="([^"]*)"', svg.finish(drawn, "p", "t", "d", "plot"))
    assert kept is not None
    x, y = np.array([[float(n) for n in point.split(",")] for point in kept[1].split()]).T
    assert len(x) == 64
    area = abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2
    assert area == pytest.approx(np.pi * 30**2, rel=0.005)


def test_lines_of_a_grid_are_styled_once_for_all() -> None:
    with plot.style():
        figure, axes = plot.new_figure(200, 100)
        axes.plot([0, 1], [0, 1], color=svg.ACCENT)
        drawn = plot.to_svg(figure, "p", "t", "d")
    assert drawn.count('class="line"') == len(axes.get_xticks()) - 2 + len(axes.get_yticks()) - 2
    assert "stroke: var(--rule)" not in drawn
