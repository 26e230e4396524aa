"""The bench on the page, in a real browser: readings, the fit, losses and the cold test."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from unicodedata import normalize

import pytest
from page_cases import WIDTHS
from playwright.sync_api import Page
from pypdf import PdfReader
from test_accessibility import violations
from test_layout import CUT_OFF, OVERFLOWING, SMALL_TEXT, sideways
from test_print import MOST_SHEETS

SECTIONS = ("#readings", "#losses", "#bench")


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
def test_axe_finds_nothing_about_the_bench(
    look: Callable[..., Page], measured_page: Path, width: int, scheme: str
) -> None:
    assert violations(look(measured_page, width, scheme, unfolded=True), *SECTIONS) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_it_stays_within_the_page(look: Callable[..., Page], measured_page: Path, width: int) -> None:
    page = look(measured_page, width, unfolded=True)
    assert sideways(page) <= 0
    assert page.evaluate(OVERFLOWING) == []
    assert page.evaluate(CUT_OFF) == []


def test_the_figure_of_limits_can_be_read_on_a_telephone(
    look: Callable[..., Page], measured_page: Path
) -> None:
    """Common practice: 11 px, and nothing to push aside."""
    page = look(measured_page, 390)
    assert min(page.evaluate(SMALL_TEXT.replace("'svg text'", "'.limits svg text'"))) >= 10.95
    frame = page.locator(".limits .wide-figure")
    assert frame.evaluate("e => e.scrollWidth - e.clientWidth") <= 1
    svg = page.locator(".limits svg")
    assert svg.locator("text", has_text="told apart").count() == 7
    assert "network.coil.unloaded_q: before 250 (200 to 300), after " in svg.locator("desc").inner_html()


@pytest.mark.parametrize(("width", "most"), [(1280, 9000), (390, 16000)])
def test_the_page_is_not_long_with_everything_folded(
    look: Callable[..., Page], measured_page: Path, width: int, most: int
) -> None:
    assert look(measured_page, width).evaluate("document.documentElement.scrollHeight") <= most


def test_agreement_is_told_by_mark_and_word(look: Callable[..., Page], measured_page: Path) -> None:
    cells = look(measured_page).locator("#readings td.agrees").all_inner_texts()
    assert len(cells) == 26  # thirteen readings, as the file stands and after the fit
    for cell in cells:
        en = float(cell.split()[0])
        assert ("✓ agrees" in cell) == (en <= 1)
        assert ("▲ does not agree" in cell) == (en > 1)


def test_a_range_has_one_value_wherever_it_stands(look: Callable[..., Page], measured_page: Path) -> None:
    """What the fit tells of a verdict before is what the finding's own card tells."""
    page = look(measured_page, unfolded=True)
    before = page.locator("#readings .moved tbody tr").first
    assert before.locator("th").inner_text().split("\n")[0].startswith("Tune capacitor: range")
    limits = before.locator("td .at-tap").first.inner_text()
    assert limits in page.locator("#fails").inner_text()


def test_it_prints_with_its_cautions(look: Callable[..., Page], measured_page: Path) -> None:
    page = look(measured_page, scheme="dark")
    sheets = printed(page)
    assert len(sheets) <= MOST_SHEETS
    whole = " ".join(sheets)
    for words in ("On the bench: read beside calculated", "Verdicts that moved", "Cannot be told apart"):
        assert words in whole
    # Folded on the screen, whole on paper.
    assert whole.count("all losses together") == 4
    assert "Numbers of this figure" not in whole
    page.evaluate("location.hash = 'card-alone'")
    alone = printed(page)
    assert len(alone) <= 2
    (cold,) = (sheet for sheet in alone if "Cold test" in sheet)
    for words in ("unplugged, waited, discharged", "shorted to chassis", "stay dead", "R + jX"):
        assert words in cold
    assert all("insulated stick" in sheet for sheet in alone)


def printed(page: Page) -> list[str]:
    """Print without backgrounds, and give the text of each sheet."""
    raw = page.pdf(prefer_css_page_size=True, print_background=False)
    return [
        " ".join(normalize("NFKC", sheet.extract_text()).split()) for sheet in PdfReader(BytesIO(raw)).pages
    ]
