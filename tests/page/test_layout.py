"""Nothing runs off the page, is cut off, or lies on something else."""

from collections.abc import Callable
from pathlib import Path

import pytest
from page_cases import WIDTHS
from playwright.sync_api import Page

OVERFLOWING = """[...document.querySelectorAll('body *')]
  .filter(e => !e.closest('svg') && !e.closest('.scroll') && !e.closest('.data') && !e.closest('.unseen')
               && !e.classList.contains('skip') && e.getBoundingClientRect().right > innerWidth + 1)
  .map(e => e.outerHTML.slice(0, 120))"""

CUT_OFF = """[...document.querySelectorAll('svg text')].filter(t => {
  const inner = t.getBoundingClientRect(), outer = t.ownerSVGElement.getBoundingClientRect();
  return inner.width > 0 && (inner.left < outer.left - 1 || inner.right > outer.right + 1
                             || inner.top < outer.top - 1 || inner.bottom > outer.bottom + 1);
}).map(t => t.ownerSVGElement.querySelector('title').textContent + ': ' + t.textContent)"""

CROSSED = """[...document.querySelectorAll('svg.schematic')].flatMap(s => {
  const upright = [...s.querySelectorAll('path')].map(p => p.getBoundingClientRect())
    .filter(b => b.width < 3 && b.height > 40);
  return [...s.querySelectorAll('text')].filter(t => {
    const box = t.getBoundingClientRect();
    return upright.some(b => b.left > box.left + 1 && b.right < box.right - 1
                             && Math.min(b.bottom, box.bottom) - Math.max(b.top, box.top) > 4);
  }).map(t => t.textContent);
})"""

OVERLAPPING = """[...document.querySelectorAll('svg.schematic, svg.coil')].flatMap(s => {
  const texts = [...s.querySelectorAll('text')].map(t => ({ text: t.textContent, box: t.getBoundingClientRect() }));
  const hits = [];
  texts.forEach((a, i) => texts.slice(i + 1).forEach(b => {
    const x = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
    const y = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
    if (x > 1 && y > a.box.height * 0.3) hits.push(a.text + ' / ' + b.text);
  }));
  return hits;
})"""


def sideways(page: Page) -> float:
    """How much wider than the window the document is [px]."""
    return float(page.evaluate("document.documentElement.scrollWidth - innerWidth"))


@pytest.mark.parametrize("width", [320, *WIDTHS])
def test_the_body_does_not_scroll_sideways(
    look: Callable[..., Page], refitted_page: Path, width: int
) -> None:
    page = look(refitted_page, width, unfolded=True)
    assert sideways(page) <= 0
    assert page.evaluate(OVERFLOWING) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_names_without_a_place_to_wrap_do_not_widen_the_body(
    look: Callable[..., Page], hostile_page: Path, width: int
) -> None:
    page = look(hostile_page, width, unfolded=True)
    assert sideways(page) <= 0
    assert page.evaluate(OVERFLOWING) == []


@pytest.mark.slow
def test_ten_bands_scroll_inside_their_table(look: Callable[..., Page], ten_bands: Path) -> None:
    page = look(ten_bands, 1280)
    assert sideways(page) <= 0
    matrix = page.locator(".matrix")
    assert matrix.evaluate("e => e.scrollWidth > e.clientWidth")
    matrix.evaluate("e => { e.scrollLeft = 200; e.scrollTop = 60 }")
    head, side = matrix.locator("thead th").nth(3), matrix.locator("tbody th").nth(2)
    outer = matrix.bounding_box()
    top, left = head.bounding_box(), side.bounding_box()
    assert outer is not None
    assert top is not None
    assert left is not None
    # Sticky: both still at the edges although the table has moved.
    assert top["y"] == pytest.approx(outer["y"], abs=2)
    assert left["x"] == pytest.approx(outer["x"], abs=2)


def test_no_text_of_a_figure_is_cut_off(look: Callable[..., Page], refitted_page: Path) -> None:
    assert look(refitted_page, 1280, unfolded=True).evaluate(CUT_OFF) == []


@pytest.mark.parametrize("name", ["refitted_page", "ten_bands"])
def test_no_text_of_a_schematic_lies_on_another_or_on_a_wire(
    look: Callable[..., Page], request: pytest.FixtureRequest, name: str
) -> None:
    page = look(request.getfixturevalue(name), 1280, unfolded=True)
    assert page.locator("svg.schematic text").count() > 100
    assert page.evaluate(OVERLAPPING) == []
    assert page.evaluate(CROSSED) == []


def test_the_first_screen_tells_what_fails_why_and_what_to_change(
    look: Callable[..., Page], refitted_page: Path
) -> None:
    """Common practice: whoever has to scroll for the verdict may miss it."""
    page = look(refitted_page)
    for selector in (".sentence", ".matching", ".causes", "#fails .number .used"):
        box = page.locator(selector).first.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 900


SMALL_TEXT = """[...document.querySelectorAll('svg text')].filter(t => t.getBoundingClientRect().height > 0)
  .map(t => parseFloat(getComputedStyle(t).fontSize) * Math.hypot(t.getScreenCTM().b, t.getScreenCTM().a))"""


def test_figures_stay_readable_on_a_telephone(look: Callable[..., Page], refitted_page: Path) -> None:
    """Common practice: 11 px is about the least that is read with ease on a screen held in the hand."""
    sizes = look(refitted_page, 390, unfolded=True).evaluate(SMALL_TEXT)
    assert len(sizes) > 100
    assert min(sizes) >= 10.95  # of 11, as the width of a figure is rounded to a pixel


@pytest.mark.parametrize(("width", "most"), [(1280, 9000), (390, 16000)])
@pytest.mark.parametrize("name", ["refitted_page", "on_the_air_whole"])
def test_a_page_is_not_long_with_everything_folded(
    look: Callable[..., Page], request: pytest.FixtureRequest, name: str, width: int, most: int
) -> None:
    page = look(request.getfixturevalue(name), width)
    assert 3000 < page.evaluate("document.documentElement.scrollHeight") <= most


def test_on_a_telephone_the_answer_stands_beside_the_band(
    look: Callable[..., Page], refitted_page: Path
) -> None:
    page = look(refitted_page, 390)
    for row in page.locator(".matching tbody tr").all():
        band, match, used = (row.locator(at).bounding_box() for at in ("th", ".match", ".used"))
        assert band is not None
        assert match is not None
        assert used is not None
        assert abs(band["y"] - match["y"]) < 12
        assert used["x"] + used["width"] <= 390


def test_the_table_of_the_smith_chart_fits(look: Callable[..., Page], one_band_page: Path) -> None:
    page = look(one_band_page, 1280, unfolded=True)
    over = page.evaluate(
        "[...document.querySelectorAll('.data')].map(d => d.scrollWidth - d.clientWidth).filter(w => w > 1)"
    )
    assert over == []


def test_the_first_band_follows_its_heading(look: Callable[..., Page], one_band_page: Path) -> None:
    """What the Smith charts share is drawn once and takes no room."""
    page = look(one_band_page, 1280, unfolded=True)
    gap = page.evaluate(
        "document.querySelector('details.band').getBoundingClientRect().top"
        " - document.getElementById('bands-heading').getBoundingClientRect().bottom"
    )
    assert 0 <= gap < 120
