"""The page of the demonstration with a tube and antennas that are not matched."""

from collections.abc import Callable
from pathlib import Path

import pytest
from page_cases import SCHEMES, WIDTHS
from playwright.sync_api import Page
from test_accessibility import violations
from test_layout import CUT_OFF, OVERFLOWING, sideways

from netsim.analysis import analyse
from netsim.description.reader import read
from netsim.report.page.page import render

FIGURES = "#band-1 .figures:has(.run), #band-1 .figures:has(.match-line), #band-1 .figures:has(.antennas)"


@pytest.fixture(scope="module")
def on_the_air_page(circuits: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the page of its 10 m band, whose antennas cannot all be matched."""
    solved = analyse(read(circuits / "new-tube-on-the-air.toml"), band="10 m", engine="two-port")
    path = tmp_path_factory.mktemp("air") / "page.html"
    path.write_text(render(solved), encoding="utf-8")
    return path


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_clean_unfolded(look: Callable[..., Page], on_the_air_page: Path, width: int, scheme: str) -> None:
    page = look(on_the_air_page, width, scheme, unfolded=True)
    assert page.locator(FIGURES).count() == 3
    assert violations(page) == []
    assert sideways(page) <= 0
    assert page.evaluate(OVERFLOWING) == []


def test_nothing_is_cut_off_and_every_id_is_there_once(
    look: Callable[..., Page], on_the_air_page: Path
) -> None:
    page = look(on_the_air_page, 1280, unfolded=True)
    assert page.evaluate(CUT_OFF) == []
    twice = page.evaluate(
        "[...document.querySelectorAll('[id]')].map(e => e.id).filter((id, n, all) => all.indexOf(id) !== n)"
    )
    assert twice == []
    silent = page.evaluate(
        "[...document.querySelectorAll('svg')].filter(s => !s.querySelector(':scope > title')?.textContent"
        " || !s.querySelector(':scope > desc')?.textContent).length"
    )
    assert silent == 0


def test_what_the_figures_say_stands_as_text(look: Callable[..., Page], on_the_air_page: Path) -> None:
    page = look(on_the_air_page, 1280, unfolded=True)
    told = " ".join(page.locator(f":is({FIGURES}) figcaption").all_inner_texts())
    assert "at the match (tune " in told
    assert "cannot be matched" in told
    assert "cannot be known from the network alone" in told
    assert "Load line" in told
    assert page.locator("#band-1 .antennas .cannot").count() == 1
    # A table for the waves, one for the meters, two for the antennas.
    assert page.locator(f":is({FIGURES}) table").count() + page.locator("#band-1 > .data table").count() == 4


def test_words_keep_clear_of_each_other(look: Callable[..., Page], on_the_air_page: Path) -> None:
    page = look(on_the_air_page, 1280, unfolded=True)
    hits = page.evaluate(
        """(() => [...document.querySelectorAll('svg.chart')].flatMap(s => {
  const texts = [...s.querySelectorAll('text')].map(t => ({ text: t.textContent, box: t.getBoundingClientRect() }));
  return texts.flatMap((a, i) => texts.slice(i + 1).filter(b =>
    Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left) > 1 &&
    Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top) > a.box.height * 0.4
  ).map(b => a.text + ' / ' + b.text));
}))()"""
    )
    assert hits == []


@pytest.mark.slow
def test_ten_bands_with_a_tube_stay_small(tmp_path: Path, circuits: Path) -> None:
    head, _, tail = (circuits / "new-tube-on-the-air.toml").read_text(encoding="utf-8").partition("[[bands]]")
    blocks = [f"[[bands]]{block}" for block in tail.split("[[bands]]")]
    more = [block.replace('name = "', 'name = "second ') for block in blocks[:4]]
    path = tmp_path / "ten.toml"
    path.write_text(head + "\n".join([*blocks, *more]), encoding="utf-8")
    solved = analyse(read(path), engine="two-port")
    assert len(solved.verdict.bands) == 10
    assert len(render(solved).encode()) < 2_300_000
