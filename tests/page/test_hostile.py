"""Texts of the user are texts, wherever they appear."""

from collections.abc import Callable
from pathlib import Path

from page_cases import HOSTILE
from playwright.sync_api import Page


def test_nothing_of_the_users_texts_runs_or_becomes_an_element(
    look: Callable[..., Page], hostile_page: Path
) -> None:
    page = look(hostile_page, unfolded=True)
    assert page.title() != "hit"
    assert page.evaluate("document.querySelectorAll('img, iframe, object, b b').length") == 0
    assert page.evaluate("document.querySelectorAll('script').length") == 3  # the page's own, and two of data
    assert page.evaluate("document.querySelectorAll('style').length") == 1
    assert "49" not in page.locator("h1").inner_text()


def test_the_users_texts_are_shown_as_written(look: Callable[..., Page], hostile_page: Path) -> None:
    page = look(hostile_page, unfolded=True)
    assert page.locator("h1").inner_text() == HOSTILE
    assert HOSTILE in page.title()
    assert HOSTILE in page.locator(".matching tbody th").first.inner_text()
    assert HOSTILE in page.locator("#line-1").inner_text()
    assert page.locator("#band-1 svg.schematic > title").text_content() == f"Schematic, {HOSTILE}, 3.8 MHz"


def test_the_name_of_the_file_is_only_a_name(look: Callable[..., Page], hostile_page: Path) -> None:
    page = look(hostile_page)
    assert page.locator(".file").inner_text() == "<b>name & 'quote'.toml"
    saved = page.locator("#downloads a").first.get_attribute("download")
    assert saved == "b-name-quote.json"
