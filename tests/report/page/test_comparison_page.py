import html
import re
from pathlib import Path

import pytest
from test_page import check

from netsim.advice.comparison import Comparison, compare, compare_topologies
from netsim.advice.coverage import load_maps
from netsim.description.reader import loads, read
from netsim.report.figures.overlay import coverage_overlay
from netsim.report.page.comparison_page import render
from netsim.report.page.comparison_rows import margin_rows, quantity_rows, setting_pairs


def page_of(found: Comparison) -> str:
    names = [band.name for band in found.bands]
    one, other = (load_maps(walked.amplifier, names) for walked in found.results)
    return render(found, (one, other))


@pytest.fixture(scope="module")
def old_new(circuits: Path) -> Comparison:
    files = (read(circuits / name) for name in ("old-tubes.toml", "new-tube.toml"))
    return compare(*files, engine="two-port")


@pytest.fixture(scope="module")
def page(old_new: Comparison) -> str:
    return page_of(old_new)


def test_the_page_is_whole_and_always_the_same(old_new: Comparison, page: str) -> None:
    check(page)
    assert page.startswith("<!DOCTYPE html>")
    assert page == page_of(old_new)
    assert "Not cross-checked" in page
    assert "<script" not in page


def test_the_head_tells_both_and_what_the_plate_load_did(old_new: Comparison, page: str) -> None:
    head = page[: page.index("</header>")]
    over = old_new.results[1].verdict.counts["over"]
    assert f"the second exceeds {over} ratings or limits; the first none." in head
    assert "The wanted plate load goes from 1.91 kΩ to 3.19 kΩ, 1.68 times as much." in head
    assert "As it was" in head
    assert "Refitted" in head


def test_every_word_of_the_comparison_stands_on_it(old_new: Comparison, page: str) -> None:
    shown = html.unescape(page)
    for words in (*old_new.better, *old_new.worse):
        assert words in shown
    for band in old_new.bands:
        for row in quantity_rows(band.quantities):
            assert (
                f">{row.label}</th><td>{row.first}</td><td>{row.second}</td><td>{row.difference}</td>"
                in shown
            )


def test_margins_agree_with_the_findings(old_new: Comparison) -> None:
    """Derived: from the findings of both, the worst used fraction of each part on each band."""
    rows = {row.label: row.cells for row in margin_rows(old_new)}
    for number, band in enumerate(old_new.bands):
        used = [
            max(
                f.used_fraction
                for f in walked.verdict.findings
                if f.part == "tune_capacitor"
                and f.band == band.name
                and f.code.startswith("part_")
                and f.used_fraction is not None
            )
            for walked in old_new.results
        ]
        cell = rows["Tune capacitor"][number]
        assert cell is not None
        assert cell.first.startswith(f"{100 * used[0]:.1f}"[:4])
        assert cell.second.startswith(f"{100 * used[1]:.3g}")
        assert (cell.state, cell.leaning, cell.mark) == ("over", "worse", "✗")
    choke = rows["Plate choke"][0]
    assert choke is not None
    assert choke.word == "more margin"
    assert [cell is None for cell in rows["Load padding"]] == [False, *[True] * 5]


def test_every_setting_of_both_is_told_with_what_it_needs(old_new: Comparison) -> None:
    pairs = setting_pairs(old_new)
    assert len(pairs) == sum(len(band.points) for band in old_new.results[0].verdict.bands)
    assert [pair.rows_of_band for pair in pairs[:4]] == [3, 0, 0, 2]
    ten = pairs[-1]
    point = old_new.results[1].verdict.bands[-1].points[-1]
    assert ten.tuned == (True, False)
    assert ten.tune[1] == "10.0 pF"
    assert point.tune_needed_farad is not None
    assert f"{point.tune_needed_farad * 1e12:.3g} pF" in ten.needed[1]
    assert ten.needed[0] == ""


def test_an_amplifier_against_itself_differs_in_nothing(circuits: Path) -> None:
    old = read(circuits / "old-tubes.toml")
    found = compare(old, old, engine="two-port")
    page = page_of(found)
    check(page)
    assert "Neither exceeds any rating or limit" in page
    assert "Both want the same plate load" in page
    assert page.count("Nothing to speak of.") == 2
    assert 'class="leaning better"' not in page
    assert 'class="leaning worse"' not in page
    assert "unified diff" not in page


def test_bands_of_one_alone_and_other_frequencies_are_told(circuits: Path) -> None:
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8")
    other = text.replace('name = "30 m"', 'name = "thirty"')
    other = re.sub(r'frequencies = \["14.0 MHz".*', 'frequencies = ["14.1 MHz"]', other)
    found = compare(loads(text, "a.toml"), loads(other, "b.toml"), engine="two-port")
    page = page_of(found)
    check(page)
    assert "Only in the first: 30 m." in page
    assert "Only in the second: thirty." in page
    assert "14 MHz and 14.1 MHz" in page


def test_topologies_are_offered_as_two_files_without_their_place(circuits: Path) -> None:
    found = compare_topologies(read(circuits / "new-tube.toml"), "pi", "pi-L", engine="two-port")
    page = page_of(found)
    check(page)
    assert 'download="new-tube-pi.toml"' in page
    assert 'download="new-tube-pi-L.toml"' in page
    assert "+topology = &#34;pi-L&#34;" in page
    assert str(circuits.parent) not in page


def test_users_texts_are_escaped(circuits: Path) -> None:
    hostile = "<script>x</script>&'{{ 7*7 }}"
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8")
    text = text.replace('"80 m"', f'"{hostile}"').replace("As it was", hostile)
    one = loads(text, "<b>.toml")
    page = page_of(compare(one, one, engine="two-port"))
    check(page)
    assert "<script" not in page
    assert "<b>.toml" not in page
    assert hostile in html.unescape(page)


def test_both_are_drawn_with_dash_and_colour(page: str) -> None:
    assert page.count('class="side-first"') == page.count('class="side-second"') == 6
    responses = re.findall(r'<svg class="plot" .*?</svg>', page)
    assert len(responses) == 6
    for drawn in responses:
        # What the figure wrote into style attributes stands in the page's style, by classes.
        dashed = re.findall(r"\.(s\d+)\.\1\.\1\{[^}]*stroke-dasharray[^}]*stroke:var\(--second\)", page)
        assert any(re.search(rf'class="{name}[ "]', drawn) for name in dashed)
        assert "limit -43 dBc" in drawn


def test_the_overlay_tells_what_each_serves(circuits: Path) -> None:
    maps = [load_maps(read(circuits / name), ["10 m"])[0] for name in ("old-tubes.toml", "new-tube.toml")]
    drawn = coverage_overlay((maps[0], maps[1]), "c")
    assert drawn.rows[-1] == ("wanted", "1.91 kΩ", "3.19 kΩ")
    assert [frequency for frequency, *_ in drawn.rows[:-1]] == ["28 MHz", "28.5 MHz", "29.7 MHz"]
    _, first, second = drawn.rows[-2]
    assert second == "none"
    assert first != "none"
    assert "the second serves none and wants 3.19 kΩ" in drawn.drawing
