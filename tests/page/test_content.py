"""What must stand on the page, seen as a reader sees it."""

import base64
import json
import re
from collections.abc import Callable
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from urllib.parse import unquote
from zipfile import ZipFile

import pytest
from playwright.sync_api import Page

from netsim.analysis import Analysis
from netsim.report.export import json_text

ORDER = [
    "fails",
    "close",
    "change",
    "used",
    "unrated",
    "bench",
    "losses",
    "taps",
    "bands",
    "reach",
    "passes",
    "cautions",
    "method",
    "rules",
    "input",
    "downloads",
]


def told(text: str) -> str:
    """Text with its white space evened out."""
    return " ".join(text.split())


def test_every_finding_over_or_close_is_told_and_the_worst_of_each_without_unfolding(
    look: Callable[..., Page], refitted: Analysis, refitted_page: Path
) -> None:
    judged = [f for f in refitted.verdict.findings if f.state in ("over", "close")]
    assert len(judged) > 10
    page = look(refitted_page)
    for index, finding in enumerate(refitted.verdict.findings):
        if finding.state in ("over", "close"):
            row = page.locator(f"#finding-{index + 1}")
            shown = told(row.evaluate("e => e.textContent"))
            for words in (finding.message, finding.band or "all bands"):
                assert told(words) in shown
            card = told(row.evaluate("e => e.closest('article').textContent"))
            assert told(finding.why) in card
            assert row.locator(f"a[href='#line-{finding.line}']").count() == 1
            assert row.locator(f"a[href='#rule-{finding.code}']").count() == 1
    assert page.locator("article.card > .finding:visible").count() == page.locator("article.card").count()
    # What differs in the band alone folds into one card.
    assert page.locator("article.card").count() < len(judged) / 1.5


def test_cards_and_their_rows_stand_worst_first(refitted: Analysis, refitted_page: Path) -> None:
    text = refitted_page.read_text(encoding="utf-8")
    section = text[text.index('id="fails"') : text.index('id="used"')]
    cards = [
        [int(number) for number in re.findall(r'id="finding-(\d+)"', card)]
        for card in section.split("<article")[1:]
    ]
    counts = refitted.verdict.counts
    assert sorted(number for rows in cards for number in rows) == list(
        range(1, counts["over"] + counts["close"] + 1)
    )
    assert [rows[0] for rows in cards] == sorted(rows[0] for rows in cards)
    assert all(rows == sorted(rows) for rows in cards)


def test_a_number_leads_to_its_reason_lines_and_rule(look: Callable[..., Page], refitted_page: Path) -> None:
    """A cell of the table of used fractions opens the row with formula and lines, and that the rule."""
    page = look(refitted_page)
    page.locator(".matrix td.pass a").first.click()
    row = page.locator(page.evaluate("location.hash"))
    assert row.is_visible()  # its details has opened
    assert row.locator("a[href^='#line-']").count() >= 1
    rule = row.evaluate("e => e.closest('tbody').querySelector(\"a[href^='#rule-']\").getAttribute('href')")
    page.locator(f"a[href='{rule}']:visible").first.click()
    shown = page.locator(rule)
    assert shown.is_visible()
    assert "Source" in shown.inner_text()


def test_a_reason_is_printed_once_in_a_card(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page)
    for card in page.locator("article.card").all():
        reasons = [told(text) for text in card.locator(".formula").all_text_contents()]
        assert len(reasons) == len(set(reasons))


def test_sections_come_in_their_order_under_headings_that_nest(
    look: Callable[..., Page], refitted_page: Path
) -> None:
    page = look(refitted_page)
    assert page.evaluate("[...document.querySelectorAll('main > section')].map(s => s.id)") == ORDER
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3,h4')].map(h => +h.tagName[1])")
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_counts_and_bands_agree_with_the_result(
    look: Callable[..., Page], refitted: Analysis, refitted_page: Path
) -> None:
    page = look(refitted_page)
    shown = [told(text) for text in page.locator(".counts li").all_inner_texts()]
    counts = refitted.verdict.counts
    assert shown == [
        f"{counts['over']} ▲ over",
        f"{counts['close']} ◆ close",
        f"{counts['not_rated']} ○ not rated",
        f"{counts['pass']} ✓ pass",
    ]
    bands = page.locator(".matching tbody th").all_inner_texts()
    assert bands == [band.name for band in refitted.verdict.bands]


def test_headers_of_tables_say_what_they_head(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page)
    assert page.evaluate("[...document.querySelectorAll('th')].filter(h => !h.scope).length") == 0
    assert (
        page.evaluate("[...document.querySelectorAll('table')].filter(t => !t.querySelector('th')).length")
        == 0
    )


def test_every_cell_of_the_matrix_is_a_link_with_a_bar_and_a_number(
    look: Callable[..., Page], refitted_page: Path
) -> None:
    page = look(refitted_page)
    cells = page.locator(".matrix td:not(.absent)")
    assert cells.count() > 50
    assert page.locator(".matrix td:not(.absent) > a").count() == cells.count()
    assert page.locator(".matrix td:not(.absent) svg.bar").count() == cells.count()
    assert all("%" in text or "band" in text or "–" in text for text in cells.all_inner_texts())


def test_the_word_that_would_be_a_promise_is_nowhere(refitted_page: Path, hostile_page: Path) -> None:
    for path in (refitted_page, hostile_page):
        text = re.sub(r'href="data:[^"]*"', "", path.read_text(encoding="utf-8"))
        assert re.search(r"\b(un)?safe(ly|ty)?\b", text, re.IGNORECASE) is None


def test_downloads_hold_the_same_as_the_commands_write(refitted: Analysis, refitted_page: Path) -> None:
    text = refitted_page.read_text(encoding="utf-8")
    files = {name: saved(link) for link, name in re.findall(r'href="(data:[^"]*)" download="([^"]*)"', text)}
    assert json.loads(files["new-tube.json"]) == json.loads(json_text.dump(refitted.verdict))
    assert files["new-tube.csv"].startswith(b"band,")
    assert files["new-tube.toml"].decode() == refitted.amplifier.text
    for name, words in (("new-tube-netlists.zip", b".ac"), ("new-tube-touchstone.zip", b"# Hz S RI R 50")):
        with ZipFile(BytesIO(files[name])) as archive:
            assert len(archive.namelist()) == len(refitted.verdict.bands)
            assert all(words in archive.read(entry) for entry in archive.namelist())


def saved(link: str) -> bytes:
    """Decode a data link as a browser would save it."""
    kind, _, data = link.partition(",")
    return base64.b64decode(data) if kind.endswith(";base64") else unquote(data).encode()


@pytest.mark.slow
def test_missing_ratings_come_with_the_line_to_add(look: Callable[..., Page], ten_bands: Path) -> None:
    shown = told(look(ten_bands).locator("#unrated").inner_text())
    assert 'voltage_rating = "..." under [network.blocking_capacitor]' in shown
    assert 'power_rating = "..." under [network.coil]' in shown
    assert "Hangs on it this verdict on every band" in shown


def test_a_result_of_one_solver_says_so_at_the_top(
    look: Callable[..., Page], hostile_page: Path, refitted_page: Path
) -> None:
    page = look(hostile_page)
    box = page.locator(".head .warning").bounding_box()
    assert box is not None
    assert box["y"] < 900
    assert "Not cross-checked" in page.locator(".head .warning").inner_text()
    assert "not cross-checked" in (page.locator("#method").text_content() or "").lower()
    assert "cross-checked" not in refitted_page.read_text(encoding="utf-8").partition("data:")[0]
