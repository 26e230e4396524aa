"""The comparison page in a real browser: the same gates as the report."""

import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest
from page_cases import HOSTILE, SCHEMES, WIDTHS
from playwright.sync_api import Browser, Page, Request
from test_accessibility import violations
from test_layout import CUT_OFF, OVERFLOWING, sideways
from test_print import printed

from netsim.cli.application import run
from netsim.description.reader import read


@pytest.fixture(scope="module")
def comparison(circuits: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("comparison") / "page.html"
    files = [str(circuits / name) for name in ("old-tubes.toml", "new-tube.toml")]
    assert run(["compare", *files, "-o", str(path)]) == 0
    return path


@pytest.fixture(scope="module")
def topologies(circuits: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the page of one file of hostile words as two topologies."""
    folder = tmp_path_factory.mktemp("topologies")
    text = (circuits / "new-tube.toml").read_text(encoding="utf-8")
    quoted = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')
    text = text.replace('name = "80 m"', f'name = "{quoted}"').replace(
        'name = "40 m"', f'name = "{"W" * 200}"'
    )
    text = re.sub(r"(?m)^title = .*$", lambda _: f'title = "{quoted}"', text)
    (folder / "hostile.toml").write_text(text, encoding="utf-8")
    path = folder / "page.html"
    arguments = ["compare", str(folder / "hostile.toml"), "--topology", "pi", "pi-L", "-o", str(path)]
    assert run([*arguments, "--engine", "two-port"]) == 0
    return path


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_axe_finds_nothing_unfolded(
    look: Callable[..., Page], comparison: Path, width: int, scheme: str
) -> None:
    page = look(comparison, width, scheme, unfolded=True)
    assert page.locator("td.leaning.worse").count() > 10
    assert violations(page) == []


def test_a_planted_fault_is_noticed(look: Callable[..., Page], comparison: Path) -> None:
    page = look(comparison)
    rule = ".leaning { color: color-mix(in srgb, var(--ink) 35%, var(--page)) !important }"
    page.evaluate(
        "rule => document.styleSheets[0].insertRule(rule, document.styleSheets[0].cssRules.length)", rule
    )
    assert [found["rule"] for found in violations(page, "#verdict")] == ["color-contrast"]


@pytest.mark.parametrize("width", [320, *WIDTHS])
@pytest.mark.parametrize("name", ["comparison", "topologies"])
def test_the_body_does_not_scroll_sideways(
    look: Callable[..., Page], request: pytest.FixtureRequest, name: str, width: int
) -> None:
    page = look(request.getfixturevalue(name), width, unfolded=True)
    assert sideways(page) <= 0
    assert page.evaluate(OVERFLOWING) == []


def test_no_text_of_a_figure_is_cut_off_and_all_are_described(
    look: Callable[..., Page], comparison: Path
) -> None:
    page = look(comparison, 1280, unfolded=True)
    assert page.evaluate(CUT_OFF) == []
    assert page.locator("svg.plot").count() == 12
    silent = page.evaluate(
        "[...document.querySelectorAll('svg')].filter(s => !s.querySelector(':scope > title')?.textContent"
        " || !s.querySelector(':scope > desc')?.textContent).length"
    )
    assert silent == 0


def test_nothing_is_asked_of_any_network_and_ids_are_unique(browser: Browser, comparison: Path) -> None:
    page = browser.new_page()
    asked: list[str] = []

    def note(request: Request) -> None:
        asked.append(request.url)

    page.on("request", note)
    page.goto(comparison.as_uri())
    page.wait_for_load_state("networkidle")
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3,h4')].map(h => +h.tagName[1])")
    unscoped = page.evaluate("[...document.querySelectorAll('th')].filter(h => !h.scope).length")
    page.close()
    assert [url for url in asked if not url.startswith("data:")] == [comparison.as_uri()]
    assert len(ids) == len(set(ids))
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert unscoped == 0


def test_no_text_of_a_file_gets_out(look: Callable[..., Page], topologies: Path) -> None:
    page = look(topologies, 1280, unfolded=True)
    assert page.title() != "hit"
    assert page.locator("script, img").count() == 0
    assert "49" not in page.locator("h1").inner_text()


def test_better_and_worse_are_told_by_mark_and_word_too(look: Callable[..., Page], comparison: Path) -> None:
    page = look(comparison, unfolded=True)
    for leaning, mark in (("better", "✓"), ("worse", "✗")):
        cells = page.locator(f"td.leaning.{leaning}").all_inner_texts()
        assert cells
        assert all(mark in cell and leaning in cell for cell in cells)
    assert all("▲" in t and "over" in t for t in page.locator(".matrix td.over").all_inner_texts())


def test_folded_text_is_printed(look: Callable[..., Page], comparison: Path, circuits: Path) -> None:
    whole = " ".join(sheet.text for sheet in printed(look, comparison, {}))
    bands = read(circuits / "old-tubes.toml").description.bands
    assert whole.count("Both on") == len(bands)
    assert "as a unified diff" in whole


def test_the_page_is_small_and_knows_no_place(comparison: Path, root: Path) -> None:
    text = comparison.read_text(encoding="utf-8")
    assert len(text.encode()) < 500_000
    assert str(root) not in text
    assert "/tmp" not in text
    assert re.search(r"\b(un)?safe(ly|ty)?\b", re.sub(r'href="data:[^"]*"', "", text), re.IGNORECASE) is None
