import html
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from report_cases import NO_CHOKES_NO_GUARDS, solved_text, variant, without

from netsim.analysis import Analysis
from netsim.report.page.page import render

VOID = {
    "meta",
    "link",
    "br",
    "use",
    "path",
    "rect",
    "circle",
    "line",
    "ellipse",
    "polygon",
    "polyline",
    "img",
}


class Nesting(HTMLParser):
    """Follow the elements; note whatever is closed that was not opened last."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def well_formed(text: str) -> bool:
    nesting = Nesting()
    nesting.feed(text)
    return nesting.wrong == [] and nesting.open == []


def ids_and_targets(text: str) -> tuple[list[str], set[str]]:
    return re.findall(r'\sid="([^"]*)"', text), set(re.findall(r'href="#([^"]*)"', text))


def check(text: str) -> None:
    """Assert what holds of every page."""
    ids, targets = ids_and_targets(text)
    assert well_formed(text)
    assert len(ids) == len(set(ids))
    assert targets <= set(ids)
    assert "Undefined" not in text
    assert re.search(r"\bnan\b|\binf\b|None", re.sub(r'"data:[^"]*"', "", text)) is None


def test_every_finding_stands_on_the_page(solved: Analysis) -> None:
    text = html.unescape(render(solved))
    check(render(solved))
    for index, finding in enumerate(solved.verdict.findings):
        assert f'id="finding-{index + 1}"' in text
        if finding.state != "pass":
            assert finding.message in text
            assert finding.why in text
            assert finding.fix in text


def test_the_same_study_gives_the_same_page(solved_plain: Analysis) -> None:
    assert render(solved_plain) == render(solved_plain)


@pytest.mark.parametrize(
    "patterns",
    [
        NO_CHOKES_NO_GUARDS,
        (r"\w+_rating = .*?\n",),
        (r"\nq = \d+",),
        (r"\[\[bands\]\]\nname = \"40 m\".*",),
        (r"load_padding = .*?\n", r"tune_padding = .*?\n"),
        (r"title = .*?\n", r"source = .*?\n"),
    ],
    ids=["bare", "no ratings", "lossless", "one band", "no padding", "no texts"],
)
def test_pages_of_sparse_files_are_whole(plain: Path, tmp_path: Path, patterns: tuple[str, ...]) -> None:
    check(render(without(plain, tmp_path, *patterns)))


@pytest.mark.parametrize(
    "changes",
    [
        {"coil": '"60 uH"'},
        {"stray": '"400 pF"'},
        {"maximum": '"40 pF"'},
        {"conduction_angle": '"360 deg"'},
        {"harmonic_level": '"-90 dB"'},
        {"resistance": '"2 kohm"'},
        {"loaded_q": "[2, 3]"},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_pages_of_odd_amplifiers_are_whole(plain: Path, tmp_path: Path, changes: dict[str, str]) -> None:
    check(render(variant(plain, tmp_path, **changes)))


def test_operating_points_are_named_where_they_fail(plain: Path, tmp_path: Path) -> None:
    text = plain.read_text(encoding="utf-8")
    text += '\n[[operating_points]]\nname = "on the high tap"\nplate_voltage = "4 kV"\n'
    text += 'no_load_plate_voltage = "4.4 kV"\n'
    page = render(solved_text(text, tmp_path))
    check(page)
    failing = page[page.index('id="fails"') : page.index('id="close"')]
    assert "on the high tap" in failing
    assert "on the high tap: wanted plate load" in page


def test_only_one_solver_is_told_in_the_head_and_the_method(unchecked_plain: Analysis) -> None:
    text = render(unchecked_plain)
    check(text)
    head = text[: text.index("</header>")]
    assert "Not cross-checked" in head
    assert text.count("<td>not cross-checked</td>") == len(unchecked_plain.verdict.bands)


def test_lines_of_the_input_are_numbered_as_positions_are(plain: Path, tmp_path: Path) -> None:
    text = plain.read_text(encoding="utf-8").replace("\n", "\r\n") + "# a line\u2028not another\r\n"
    page = render(solved_text(text, tmp_path))
    assert len(re.findall(r'id="line-\d+"', page)) == text.count("\n")
    found = re.search(r'id="line-4"><th scope="row">4</th><td><code>([^<]*)', page)
    assert found is not None
    assert found[1] == "[stage]"


def test_users_texts_are_escaped_everywhere(plain: Path, tmp_path: Path) -> None:
    hostile = "<script>x</script>&'{{ 7*7 }}"
    text = (
        plain.read_text(encoding="utf-8").replace('"80 m"', f'"{hostile}"').replace("Plain example", hostile)
    )
    page = render(solved_text(text, tmp_path))
    check(page)
    assert "<script>x" not in page
    assert page.count("<script") == 3  # two of data, and the page's own
    assert hostile in html.unescape(page)
