"""The sample page and its picture in `reports/`, which README shows.

Both are made here: `UPDATE_SAMPLE=1` writes them anew, otherwise they are compared. Versions, rounding
errors and pixels differ between machines, so those are left out of the comparison.
"""

import os
import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page

UPDATE = "UPDATE_SAMPLE"
SIZE = (1280, 900)

MACHINE = (
    r'href="data:[^"]*"',
    r"(?s)<svg.*?</svg>",
    r"(?s)<script.*?</script>",
    r"(?s)<style>.*?</style>",
    r'content="default-src[^"]*"',
    r"<span>[\d.]+ kB</span>",
    r"(?s)<h3>Agreement of the solvers</h3>.*?</section>",
)
"""What a page owes to the machine that made it."""


def told(page: str) -> list[str]:
    """Give the page's lines without what belongs to the machine."""
    for pattern in MACHINE:
        page = re.sub(pattern, "", page)
    return page.splitlines()


def differing(one: bytes, other: bytes) -> float:
    """Share of pixels that are clearly different."""
    first, second = (np.asarray(Image.open(BytesIO(raw)).convert("L"), dtype=float) for raw in (one, other))
    return float(np.mean(np.abs(first - second) > 64))


@pytest.fixture
def kept(root: Path) -> Path:
    """Folder of the sample."""
    return root / "reports"


def test_the_sample_page_is_what_the_demonstration_gives(refitted_page: Path, kept: Path) -> None:
    path = kept / "sample.html"
    if os.environ.get(UPDATE):
        path.write_bytes(refitted_page.read_bytes())
    fresh = refitted_page.read_text(encoding="utf-8")
    assert len(told(fresh)) > 500
    assert told(path.read_text(encoding="utf-8")) == told(fresh), f"run this test with {UPDATE}=1"
    assert path.stat().st_size < 1_200_000


def test_the_picture_is_the_first_screen_of_the_page(
    look: Callable[..., Page], refitted_page: Path, kept: Path
) -> None:
    path = kept / "sample.png"
    fresh = look(refitted_page, SIZE[0]).screenshot()
    if os.environ.get(UPDATE):
        path.write_bytes(fresh)
    picture = path.read_bytes()
    assert Image.open(BytesIO(picture)).size == SIZE
    assert differing(picture, fresh) < 0.05, f"run this test with {UPDATE}=1"
    # It would notice another screen.
    assert differing(picture, look(refitted_page, SIZE[0], "dark").screenshot()) > 0.05
