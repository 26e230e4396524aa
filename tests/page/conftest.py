"""Pages made once, and one real browser for all tests that look at them."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from page_cases import HOSTILE, whole_page
from playwright.sync_api import Browser, Page, sync_playwright

from netsim.advice.remedies import with_remedies
from netsim.analysis import Analysis, analyse
from netsim.description.reader import read
from netsim.output import write_text

NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Start the system's Chromium; a machine without one fails, it does not skip."""
    found = os.environ.get("CHROMIUM") or next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.fail(
            "the page is tested in a real browser and there is none: run `apt-get install chromium`, "
            "or put the path of a Chromium into the environment variable CHROMIUM"
        )
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield started
        started.close()


@pytest.fixture(scope="session")
def refitted(circuits: Path) -> Analysis:
    """Solve the demonstration amplifier that has much past its ratings."""
    return with_remedies(analyse(read(circuits / "new-tube.toml")))


@pytest.fixture(scope="session")
def refitted_page(refitted: Analysis, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the page of the demonstration amplifier."""
    return _written(lambda: refitted, tmp_path_factory, "refitted")


@pytest.fixture(scope="session")
def on_the_air_whole(circuits: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the page of the demonstration with a tube and other antennas, all bands."""
    amplifier = read(circuits / "new-tube-on-the-air.toml")
    return _written(lambda: analyse(amplifier, engine="two-port"), tmp_path_factory, "air-whole")


@pytest.fixture(scope="session")
def one_band_page(circuits: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the same for one band alone: every kind of section, quick to go through unfolded."""
    amplifier = read(circuits / "new-tube.toml")
    return _written(lambda: analyse(amplifier, band="10 m", engine="two-port"), tmp_path_factory, "one-band")


@pytest.fixture(scope="session")
def measured_page(circuits: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the page of the demonstration that was measured, fitted to its readings; of few samples."""
    amplifier = read(circuits / "on-the-bench.toml")
    return _written(
        lambda: with_remedies(analyse(amplifier, engine="two-port", samples=256)),
        tmp_path_factory,
        "measured",
    )


@pytest.fixture(scope="session")
def hostile_page(plain: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the page of a file whose every text tries to break out, some of them without a place to wrap."""
    folder = tmp_path_factory.mktemp("hostile-input")
    text = plain.read_text(encoding="utf-8")
    quoted = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')
    text = text.replace("Plain example, one tube and a pi network", quoted)
    text = text.replace('name = "80 m"', f'name = "{quoted}"')
    text = text.replace('name = "40 m"', f'name = "{"W" * 200}"')
    text = text.replace("estimated from the gauge of the wire", quoted)
    path = folder / "<b>name & 'quote'.toml"
    path.write_text(f"# {HOSTILE}\n{text}", encoding="utf-8")
    return _written(lambda: analyse(read(path), engine="two-port"), tmp_path_factory, "hostile")


@pytest.fixture(scope="session")
def ten_bands(plain: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the page of an amplifier of ten bands by three frequencies, part of its ratings missing."""
    head = plain.read_text(encoding="utf-8").partition("[[bands]]")[0]
    head = head.replace('power_rating = "120 W"\n', "").replace('voltage_rating = "7.5 kV"\n', "")
    bands = "".join(
        f'[[bands]]\nname = "band {number}"\nfrequencies = ["{f} MHz", "{f * 1.01:.4f} MHz", "{f * 1.02:.4f} MHz"]\n'
        f'coil = "{40 / f:.3f} uH"\nload_padding = "{round(900 / f) + 20} pF"\n'
        for number, f in enumerate((1.85, 3.5, 5.35, 7.0, 10.1, 14.0, 18.1, 21.0, 24.9, 28.0), start=1)
    )
    path = tmp_path_factory.mktemp("ten-input") / "ten.toml"
    path.write_text(head + bands, encoding="utf-8")
    return _written(lambda: analyse(read(path)), tmp_path_factory, "ten")


@pytest.fixture
def look(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Open a page at a width and in a colour scheme, folded or not."""
    opened: list[Page] = []

    def opening(path: Path, width: int = 1280, scheme: str = "light", *, unfolded: bool = False) -> Page:
        page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)  # type: ignore[arg-type]
        opened.append(page)
        page.goto(path.as_uri())
        if unfolded:
            page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        return page

    yield opening
    for page in opened:
        page.close()


def _written(solve: Callable[[], Analysis], factory: pytest.TempPathFactory, name: str) -> Path:
    """Write a page, unless another process of this run has done so."""
    folder = factory.getbasetemp()
    path = (folder.parent if "PYTEST_XDIST_WORKER" in os.environ else folder) / f"{name}.html"
    if not path.exists():
        write_text(path, whole_page(solve()))  # whole or not at all
    return path
