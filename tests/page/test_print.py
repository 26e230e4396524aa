"""On paper everything is unfolded, and the bench card has a sheet of its own."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from unicodedata import normalize

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from netsim.analysis import Result


@pytest.fixture(scope="module")
def sheets() -> dict[Path, list[str]]:
    """Keep what has been printed."""
    return {}


def printed(look: Callable[..., Page], path: Path, sheets: dict[Path, list[str]]) -> list[str]:
    """Print without backgrounds from a dark screen, and give the text of every sheet."""
    if path not in sheets:
        page = look(path, scheme="dark")
        raw = page.pdf(prefer_css_page_size=True, print_background=False)
        texts = [sheet.extract_text() for sheet in PdfReader(BytesIO(raw)).pages]
        # NFKC takes ligatures apart.
        sheets[path] = [" ".join(normalize("NFKC", text).split()) for text in texts]
    return sheets[path]


def test_folded_text_is_printed(
    look: Callable[..., Page], refitted: Result, refitted_page: Path, sheets: dict[Path, list[str]]
) -> None:
    whole = " ".join(printed(look, refitted_page, sheets))
    assert whole.count("Operating points") == len(refitted.verdict.bands)
    assert whole.count("Numbers of this figure") == 5 * len(refitted.verdict.bands)
    passing = [finding for finding in refitted.verdict.findings if finding.state == "pass"]
    assert len(passing) > 50
    assert "load capacitor with padding and stray" in whole  # of a Smith chart's table
    assert "plate choke: rms current" in whole.lower()  # of what passes
    assert "as a unified diff" in whole
    assert '+voltage_rating = "4 kV"' in whole  # of the diff
    assert "close_to_rating" in whole or "[network.tune_capacitor]" in whole  # of the input


def test_the_bench_card_has_a_sheet_of_its_own(
    look: Callable[..., Page], refitted_page: Path, sheets: dict[Path, list[str]]
) -> None:
    found = [sheet for sheet in printed(look, refitted_page, sheets) if "Bench card" in sheet]
    assert len(found) == 1
    assert "Measured" in found[0]
    for other in ("Rating used, part by band", "Not rated, or assumed", "Band by band", "Tuning reach"):
        assert other not in found[0]


def test_bars_are_printed_as_shapes(look: Callable[..., Page], refitted_page: Path) -> None:
    """Backgrounds are often left out in print: a bar must not be one."""
    page = look(refitted_page)
    page.emulate_media(media="print")
    filled = page.locator(".matrix td.over svg.bar path[class^=fill]").first
    assert filled.evaluate("e => getComputedStyle(e).fill") == "rgb(163, 32, 13)"


def test_a_dark_screen_prints_dark_on_white(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page, scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"


def test_ten_bands_fit_on_their_sheets(
    look: Callable[..., Page], ten_bands: Path, sheets: dict[Path, list[str]]
) -> None:
    found = [sheet for sheet in printed(look, ten_bands, sheets) if "Rating used, part by band" in sheet]
    assert len(found) == 1
    assert "band 10" in found[0]
