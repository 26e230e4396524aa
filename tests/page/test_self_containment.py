"""One file: nothing is fetched, nothing runs, the same bytes wherever and whenever it is made."""

import base64
import hashlib
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from page_cases import whole_page
from playwright.sync_api import Browser, Page, Request

from netsim.analysis import Analysis


def test_nothing_is_asked_of_any_network(browser: Browser, refitted_page: Path) -> None:
    page = browser.new_page()
    asked: list[str] = []

    def note(request: Request) -> None:
        asked.append(request.url)

    page.on("request", note)
    page.goto(refitted_page.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
    page.emulate_media(media="print")
    page.wait_for_load_state("networkidle")
    page.close()
    assert [url for url in asked if not url.startswith("data:")] == [refitted_page.as_uri()]


def test_only_its_own_script_and_style_may_run_and_every_link_leads_into_the_page(
    refitted_page: Path,
) -> None:
    text = refitted_page.read_text(encoding="utf-8")
    policy = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)[0]
    for kind, tag in (("script", "<script>(.*?)</script>"), ("style", "<style>(.*?)</style>")):
        (body,) = re.findall(tag, text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert ' style="' not in text
    assert re.findall(r"<script[ >]", text) == [
        "<script ",
        "<script ",
        "<script>",
    ]  # data twice, and the one that runs
    assert "javascript:" not in text
    targets = re.findall(r'(?:href|src)="([^"]*)"', text)
    assert len(targets) > 100
    assert all(target.startswith(("#", "data:")) for target in targets)


def test_every_id_is_unique_and_every_link_finds_one(look: Callable[..., Page], refitted_page: Path) -> None:
    page = look(refitted_page)
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(ids) == len(set(ids))
    wanted = page.evaluate(
        "[...document.querySelectorAll('[href^=\"#\"]')].map(e => e.getAttribute('href').slice(1))"
    )
    wanted += re.findall(r"url\(#([^)]*)\)", refitted_page.read_text(encoding="utf-8"))
    named = page.evaluate(
        "[...document.querySelectorAll('[aria-labelledby]')]"
        ".flatMap(e => e.getAttribute('aria-labelledby').split(' '))"
    )
    assert set(wanted) | set(named) <= set(ids)


def test_a_second_run_in_another_place_and_time_gives_the_same_bytes(
    refitted_page: Path, circuits: Path, tmp_path: Path
) -> None:
    elsewhere = tmp_path / "new-tube.toml"
    elsewhere.write_bytes((circuits / "new-tube.toml").read_bytes())
    settings = {"PYTHONHASHSEED": "7", "SOURCE_DATE_EPOCH": "86400", "TZ": "Asia/Tokyo", "LC_ALL": "C"}
    made = subprocess.run(
        [sys.executable, "-m", "netsim", "report", str(elsewhere), "-o", "-"],
        cwd=tmp_path,
        env={**os.environ, **settings},
        capture_output=True,
        check=True,
    )
    assert made.stdout == refitted_page.read_bytes()


def test_the_page_knows_no_place_but_the_name_of_the_file(refitted_page: Path, root: Path) -> None:
    text = refitted_page.read_text(encoding="utf-8")
    assert "new-tube.toml" in text
    assert str(root) not in text
    assert "/tmp" not in text


def test_the_demonstration_is_small(refitted_page: Path) -> None:
    assert refitted_page.stat().st_size < 1_200_000


@pytest.mark.slow
def test_ten_bands_of_three_frequencies_are_not_large(ten_bands: Path) -> None:
    assert ten_bands.stat().st_size < 2_200_000


@pytest.mark.slow
def test_rendering_leaves_nothing_behind(refitted: Analysis, refitted_page: Path) -> None:
    """A second page out of the same process is the same, whatever the first has cached."""
    assert whole_page(refitted).encode() == refitted_page.read_bytes()
