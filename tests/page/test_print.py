"""On paper: few sheets, each well filled, no heading left alone, and the bench card by itself."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from unicodedata import normalize

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from netsim.analysis import Analysis

MOST_SHEETS = 20
PLACES = ("refitted_page", "on_the_air_whole")
HEADINGS = (
    "What fails",
    "What is close",
    "Rating used, part by band",
    "Not rated, or assumed",
    "Bench card",
    "Where the power goes",
    "Taps and coil",
    "Band by band",
    "Tuning reach",
    "Cautions",
    "Method and its limits",
    "Parts: the highest over the band’s frequencies",
)


class Sheet:
    """One printed sheet: its text, and how far down it goes, of its height."""

    def __init__(self, page: object) -> None:
        lowest = [1.0]
        height = float(page.mediabox.height)  # type: ignore[attr-defined]

        def see(text: str, current: list[float], matrix: list[float], *_: object) -> None:
            if text.strip():
                lowest.append((matrix[5] * current[3] + current[5]) / height)

        raw = page.extract_text(visitor_text=see)  # type: ignore[attr-defined]
        # NFKC takes ligatures apart.
        self.text = " ".join(normalize("NFKC", raw).split())
        self.filled = 1 - min(place for place in lowest if place > 0)
        self.wide = float(page.mediabox.width) > height  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def printed_once() -> dict[str, list[Sheet]]:
    """Keep what has been printed."""
    return {}


def printed(
    look: Callable[..., Page], path: Path, kept: dict[str, list[Sheet]], anchor: str = ""
) -> list[Sheet]:
    """Print without backgrounds from a dark screen."""
    key = f"{path}{anchor}"
    if key not in kept:
        page = look(path, scheme="dark")
        if anchor:
            page.evaluate(f"location.hash = '{anchor}'")
        raw = page.pdf(prefer_css_page_size=True, print_background=False)
        kept[key] = [Sheet(sheet) for sheet in PdfReader(BytesIO(raw)).pages]
    return kept[key]


@pytest.mark.parametrize("name", PLACES)
def test_it_takes_few_sheets_and_fills_them(
    look: Callable[..., Page],
    request: pytest.FixtureRequest,
    name: str,
    printed_once: dict[str, list[Sheet]],
) -> None:
    sheets = printed(look, request.getfixturevalue(name), printed_once)
    assert 5 < len(sheets) <= MOST_SHEETS
    assert [n for n, sheet in enumerate(sheets[:-1], start=1) if sheet.filled < 0.5] == []


@pytest.mark.parametrize("name", PLACES)
def test_no_heading_stands_alone_at_a_foot(
    look: Callable[..., Page],
    request: pytest.FixtureRequest,
    name: str,
    printed_once: dict[str, list[Sheet]],
) -> None:
    sheets = printed(look, request.getfixturevalue(name), printed_once)
    for heading in HEADINGS:
        assert not any(sheet.text.endswith(heading) for sheet in sheets), heading


def test_what_belongs_to_the_bench_is_printed(
    look: Callable[..., Page], refitted: Analysis, refitted_page: Path, printed_once: dict[str, list[Sheet]]
) -> None:
    whole = " ".join(sheet.text for sheet in printed(look, refitted_page, printed_once))
    assert whole.count("Operating points") == len(refitted.verdict.bands)
    for words in (
        "Over, by part and cause",
        "Bench card",
        "Measured",
        "Before a hand goes in",
        "The plate supply kills",
    ):
        assert words in whole
    for finding in refitted.verdict.findings:
        if finding.state == "over":
            assert finding.band in whole
    # What only a screen can use stays there.
    for words in ("Numbers of this figure", "Turn the knobs", "as a unified diff"):
        assert words not in whole or words == "as a unified diff"


def test_the_bench_card_prints_alone_with_its_cautions_on_both_sheets(
    look: Callable[..., Page], refitted_page: Path, printed_once: dict[str, list[Sheet]]
) -> None:
    assert look(refitted_page).locator("a[href='#card-alone']").is_visible()
    card, cold = printed(look, refitted_page, printed_once, "card-alone")
    for sheet in (card, cold):
        assert sheet.wide
        assert "insulated stick" in sheet.text
        for other in ("Rating used, part by band", "Not rated, or assumed", "Band by band", "Tuning reach"):
            assert other not in sheet.text
    for words in ("Bench card", "Measured", "Before a hand goes in", "Trust no bleeder"):
        assert words in card.text
    for words in (
        "Cold test",
        "unplugged, waited, discharged",
        "shorted to chassis",
        "stay dead",
        "Read R + jX",
    ):
        assert words in cold.text


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


@pytest.mark.slow
def test_ten_bands_fit_on_their_sheets(
    look: Callable[..., Page], ten_bands: Path, printed_once: dict[str, list[Sheet]]
) -> None:
    found = [
        sheet for sheet in printed(look, ten_bands, printed_once) if "Rating used, part by band" in sheet.text
    ]
    assert len(found) == 1
    assert "band 10" in found[0].text
