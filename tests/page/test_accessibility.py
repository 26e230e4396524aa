"""axe, levels A and AA, on the whole page unfolded; and proof that it would notice."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from page_cases import SCHEMES, WIDTHS
from playwright.sync_api import Page

LEVELS = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}


def violations(page: Page, *sections: str) -> list[dict[str, Any]]:
    """Run axe, on some sections alone if they are named; give rule and first places of each violation."""
    context = {"include": [[section] for section in sections]} if sections else None
    found = Axe().run(page, context=context, options=LEVELS).response["violations"]
    return [{"rule": v["id"], "where": [n["html"][:160] for n in v["nodes"][:4]]} for v in found]


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_every_kind_of_section_is_clean_unfolded(
    look: Callable[..., Page], one_band_page: Path, width: int, scheme: str
) -> None:
    page = look(one_band_page, width, scheme, unfolded=True)
    assert page.locator("#fails .finding").count() > 0
    assert violations(page) == []


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
def test_the_whole_page_is_clean(
    look: Callable[..., Page], refitted_page: Path, width: int, scheme: str
) -> None:
    assert violations(look(refitted_page, width, scheme)) == []


@pytest.mark.slow
def test_many_bands_and_missing_ratings_are_clean(look: Callable[..., Page], ten_bands: Path) -> None:
    assert violations(look(ten_bands, 1280, "dark"), "#used", "#unrated") == []


@pytest.mark.parametrize("scheme", SCHEMES)
def test_a_planted_contrast_fault_is_noticed(
    look: Callable[..., Page], one_band_page: Path, scheme: str
) -> None:
    page = look(one_band_page, 1280, scheme)
    # The page's policy lets no style in, but what is there may be changed.
    rule = ".lead { color: color-mix(in srgb, var(--ink) 35%, var(--page)) !important }"
    page.evaluate(
        "rule => document.styleSheets[0].insertRule(rule, document.styleSheets[0].cssRules.length)", rule
    )
    assert [found["rule"] for found in violations(page)] == ["color-contrast"]


def test_a_planted_missing_name_is_noticed(look: Callable[..., Page], one_band_page: Path) -> None:
    page = look(one_band_page)
    page.evaluate("document.querySelector('main a').textContent = ''")
    assert "link-name" in [found["rule"] for found in violations(page)]


def test_every_svg_has_a_title_and_a_description(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page)
    silent = page.evaluate(
        "[...document.querySelectorAll('svg')].filter(s => !s.querySelector(':scope > title')?.textContent"
        " || !s.querySelector(':scope > desc')?.textContent).length"
    )
    assert page.locator("svg").count() > 50
    assert silent == 0


def test_every_state_is_told_by_a_mark_and_a_word_too(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page)
    cells = page.locator(".matrix td.over").all_inner_texts()
    assert cells
    assert all("▲" in cell and "over" in cell for cell in cells)
    assert all("✓" in cell and "pass" in cell for cell in page.locator(".matrix td.pass").all_inner_texts())


def test_folds_open_and_close_by_keyboard(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page)
    page.locator("#band-1 > summary").focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.querySelector('#band-1').open") is True


def test_a_link_into_a_fold_opens_it(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page)
    page.locator(".matrix td.pass a[href^='#finding-']").first.click()
    assert page.evaluate("document.querySelector(location.hash).closest('details').open") is True
