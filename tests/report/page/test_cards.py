from dataclasses import replace

from report_cases import finding

from netsim.analysis import Result
from netsim.report.page.cards import cards


def test_findings_of_one_kind_share_a_card_worst_first(solved_plain: Result) -> None:
    verdict = replace(
        solved_plain.verdict,
        findings=(
            finding(used_fraction=1.9, band="20 m"),
            finding(code="part_current", used_fraction=1.7, band="20 m"),
            finding(used_fraction=1.2, band="80 m"),
            finding(state="close", used_fraction=0.95),
        ),
    )
    first, second = cards(verdict, "over")
    assert (first.title, first.worst, first.places) == ("Coil: heat", "190 %", ("20 m", "80 m"))
    assert [row.anchor for row in first.rows] == ["finding-1", "finding-3"]
    assert second.title == "Coil: rms current"
    assert [card.state for card in cards(verdict, "close")] == ["close"]


def test_every_finding_is_on_exactly_one_card(solved: Result) -> None:
    for state in ("over", "close", "pass"):
        anchors = [row.anchor for card in cards(solved.verdict, state) for row in card.rows]
        assert len(anchors) == len(set(anchors)) == solved.verdict.counts[state]


def test_rows_carry_number_limit_reason_remedy_and_line(solved: Result) -> None:
    for card in cards(solved.verdict, "over"):
        for row in card.rows:
            origin = solved.verdict.findings[int(row.anchor.partition("-")[2]) - 1]
            assert (row.message, row.why, row.fix) == (origin.message, origin.why, origin.fix)
            assert row.line == origin.line
            assert row.line_anchor == f"line-{origin.line}"
            assert row.value


def test_a_finding_without_fraction_or_place_is_written_too(solved_plain: Result) -> None:
    bare = finding(used_fraction=None, value=None, limit=None, frequency_hertz=None, band=None, line=None)
    (card,) = cards(replace(solved_plain.verdict, findings=(bare,)), "over")
    (row,) = card.rows
    assert (card.worst, row.value, row.limit, row.used, row.frequency) == ("", "–", "", "–", "")
    assert (row.place, row.line_anchor) == ("all bands", "")


def test_operating_points_are_named_on_the_row(solved_plain: Result) -> None:
    made = finding(operating_point="carrier")
    (card,) = cards(replace(solved_plain.verdict, findings=(made,)), "over")
    assert card.rows[0].place == "40 m, carrier"
