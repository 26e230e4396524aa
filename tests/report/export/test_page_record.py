"""What a page says it was made from, and what has moved since."""

from dataclasses import replace

import pytest
from report_cases import finding

from netsim.analysis import Analysis
from netsim.errors import UsageError
from netsim.report.export.page_record import ELEMENT, Record, dump, load, moved, moved_versions, record_of


def page_with(record: Record) -> str:
    return f'<p></p><script type="application/json" id="{ELEMENT}">{dump(record)}</script>'


@pytest.fixture
def record(solved_plain: Analysis) -> Record:
    return record_of(solved_plain.verdict, "plain.toml", None)


def test_a_record_comes_out_of_its_page_as_it_went_in(record: Record) -> None:
    assert load(page_with(record), "page") == record
    assert len(record.findings) > 50
    assert record.versions["input_sha256"]


def test_texts_of_the_user_cannot_end_the_element(record: Record) -> None:
    hostile = replace(record, file="</script><b>&")
    text = page_with(hostile)
    assert text.count("<") == 4  # of the two elements' tags
    assert load(text, "page").file == "</script><b>&"


def test_the_same_result_has_not_moved(record: Record) -> None:
    assert list(moved(record, record)) == []
    assert moved_versions(record, record) == {}


def test_every_kind_of_move_is_told(solved_plain: Analysis) -> None:
    stays, rises = finding(band="80 m"), finding(band="40 m", used_fraction=0.5, state="pass")
    goes, comes = finding(part="suppressor"), finding(part="plate_choke")
    verdict = solved_plain.verdict
    before = record_of(replace(verdict, findings=(stays, rises, goes)), "x", None)
    after = record_of(replace(verdict, findings=(stays, replace(rises, used_fraction=0.7), comes)), "x", None)
    told = {
        (pair.before and pair.before.used_fraction, pair.after and pair.after.used_fraction)
        for pair in moved(before, after)
    }
    assert told == {(0.5, 0.7), (None, 1.1), (1.1, None)}


@pytest.mark.parametrize(("used", "counts"), [(1.1001, False), (1.102, True)])
def test_only_what_a_page_would_show_counts(solved_plain: Analysis, used: float, counts: bool) -> None:
    """Derived: three digits of 110 % are a tenth of a percent."""
    one, other = (
        record_of(replace(solved_plain.verdict, findings=(finding(used_fraction=value),)), "x", None)
        for value in (1.1, used)
    )
    assert bool(list(moved(one, other))) == counts


def test_another_file_and_engine_are_told(solved_plain: Analysis, unchecked_plain: Analysis) -> None:
    one, other = (record_of(solved.verdict, "x", None) for solved in (solved_plain, unchecked_plain))
    assert set(moved_versions(one, other)) == {"pyspice", "ngspice"}
    changed = replace(one, versions={**one.versions, "input_sha256": "0"})
    assert set(moved_versions(one, changed)) == {"input_sha256"}


@pytest.mark.parametrize(
    "page",
    [
        "",
        "<p>",
        f'<script type="application/json" id="{ELEMENT}">{{</script>',
        "made-from",
        f'<script type="application/json" id="{ELEMENT}">{{"findings": [[1]]}}</script>',
    ],
)
def test_what_is_no_report_is_refused(page: str) -> None:
    with pytest.raises(UsageError) as caught:
        load(page, "some.html")
    assert caught.value.problems[0].code == "page_record_missing"
    assert caught.value.problems[0].file == "some.html"
