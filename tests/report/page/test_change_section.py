import html
import re
from pathlib import Path

import pytest
from report_cases import solved_text

from netsim.advice.fix.attribution import ExplainedFix, explained_fix
from netsim.advice.remedies import with_remedies
from netsim.analysis import Analysis, analyse
from netsim.description.formatting import percent
from netsim.description.reader import read
from netsim.report.page.change_section import change_section, finding_changes
from netsim.report.page.page import render


@pytest.fixture(scope="module")
def refitted(root: Path) -> Analysis:
    return with_remedies(analyse(read(root / "tests" / "examples" / "refitted.toml"), engine="two-port"))


@pytest.fixture(scope="module")
def remedy(refitted: Analysis) -> ExplainedFix:
    return explained_fix(refitted.amplifier, engine="two-port", before=refitted)


def test_without_a_search_there_is_no_section(refitted: Analysis) -> None:
    assert change_section(None) is None
    assert finding_changes(refitted.verdict, None) == {}
    page = render(refitted)
    assert 'id="change"' not in page
    assert 'href="#change' not in page


def test_the_section_holds_list_effects_and_diff(refitted: Analysis, remedy: ExplainedFix) -> None:
    section = change_section(remedy)
    assert section is not None
    assert section.needed
    assert section.clears
    assert [row.title for row in section.changes] == [change.title for change in remedy.fix.changes]
    assert [row.number for row in section.changes] == list(range(1, len(section.changes) + 1))
    assert sum(row.weight for row in section.changes) == section.weight
    assert section.summary.startswith(f"{refitted.verdict.counts['over']} over and")
    assert "become 0 over" in section.summary
    assert len(section.effects) == len(remedy.fix.effects)
    # The place of the file is nobody's business.
    assert section.diff.startswith("--- refitted.toml\n+++ refitted.toml\n")
    assert section.diff.splitlines()[2:] == remedy.fix.diff.splitlines()[2:]


def test_every_finding_over_is_told_its_change_with_before_and_after(
    refitted: Analysis, remedy: ExplainedFix
) -> None:
    changes = finding_changes(refitted.verdict, remedy)
    for index, finding in enumerate(refitted.verdict.findings):
        if finding.state == "over":
            assert changes[index].changes
            assert changes[index].state in ("pass", "close")
    voltage = next(
        changes[i]
        for i, f in enumerate(refitted.verdict.findings)
        if f.code == "part_unloaded_voltage" and f.band == "30 m" and f.part == "tune_capacitor"
    )
    (effect,) = [
        e
        for e in remedy.fix.effects
        if (e.shown.code, e.shown.band, e.shown.part) == ("part_unloaded_voltage", "30 m", "tune_capacitor")
    ]
    told = tuple(percent(one.used_fraction) for one in (effect.before, effect.after))
    assert (voltage.before, voltage.after) == told
    assert [row.title.partition(":")[0] for row in voltage.changes] == ["another vacuum tune capacitor"]


def test_cards_show_the_change_and_keep_the_first_remedy(refitted: Analysis, remedy: ExplainedFix) -> None:
    page = html.unescape(render(refitted, fix=remedy))
    failing = page[page.index('id="fails"') : page.index('id="close"')]
    assert failing.count('<span class="change') >= refitted.verdict.counts["over"]
    worst = remedy.fix.effects[0]
    told = tuple(percent(one.used_fraction) for one in (worst.before, worst.after))
    assert f"<b>{told[0]} → {told[1]}</b>" in failing
    assert "<summary>Alone, or instead" in failing
    for number in range(1, len(remedy.fix.changes) + 1):
        assert f'id="change-{number}"' in page
        assert f'href="#change-{number}"' in page
    assert "clear everything</a>" in page[: page.index("</header>")]


def test_a_clean_amplifier_is_told_that_no_change_is_needed(circuits: Path) -> None:
    old = analyse(read(circuits / "old-tubes.toml"), engine="two-port")
    page = render(old, fix=explained_fix(old.amplifier, engine="two-port", before=old))
    section = page[page.index('id="change"') : page.index('id="used"')]
    assert "no change is needed" in section
    assert "<table" not in section
    assert "no change is needed" in page[: page.index("</header>")]


@pytest.mark.slow
def test_what_nothing_clears_is_told_with_what_limits_it(circuits: Path, tmp_path: Path) -> None:
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8")
    hopeless = solved_text(text.replace('capacitance = "15 pF"', 'capacitance = "250 pF"'), tmp_path)
    found = explained_fix(hopeless.amplifier, engine="two-port", before=hopeless)
    section = change_section(found)
    assert section is not None
    assert not section.clears
    kinds = {(f.code, f.part, f.quantity, f.case) for f in found.fix.remaining}
    assert len(section.remaining) >= len(kinds) > 0
    page = html.unescape(render(hopeless, fix=found))
    assert "What remains over, what limits it, and the closest that was reached" in page
    assert "nothing that was tried clears everything" in page
    assert all(one.why in page for one in section.remaining)
    assert "still over" in page[page.index('id="fails"') : page.index('id="close"')]


def test_the_changed_file_can_be_saved_and_users_texts_are_escaped(
    refitted: Analysis, tmp_path: Path
) -> None:
    hostile = "<b>&'"
    text = refitted.amplifier.text.replace('name = "30 m"', f'name = "{hostile}"')
    solved = solved_text(text, tmp_path)
    page = render(solved, fix=explained_fix(solved.amplifier, engine="two-port", before=solved))
    assert hostile not in page
    assert re.search(r'download="variant-changed.toml"', page)
