from dataclasses import replace

from report_cases import finding

from netsim.analysis import Analysis
from netsim.report.finding_groups import groups
from netsim.report.page.cards import Origins, cards, passing, told_of
from netsim.verdict.result import Verdict


def told(verdict: Verdict, state: str = "over"):
    return cards(told_of(groups(verdict, ("over", "close")), state))


def test_findings_of_one_kind_share_a_card_worst_first(solved_plain: Analysis) -> None:
    verdict = replace(
        solved_plain.verdict,
        findings=(
            finding(used_fraction=1.9, band="20 m"),
            finding(code="part_current", used_fraction=1.7, band="20 m"),
            finding(used_fraction=1.2, band="80 m"),
            finding(state="close", used_fraction=0.95),
        ),
    )
    first, second = told(verdict)
    # What is only close on another band stands with what is over.
    assert (first.title, first.worst) == ("Coil: heat", "190 %")
    assert [row.place for row in first.rows] == ["20 m", "80 m", "40 m"]
    assert [(row.anchor, row.finding.state) for row in first.rows] == [
        ("finding-1", "over"),
        ("finding-3", "over"),
        ("finding-4", "close"),
    ]
    assert second.title == "Coil: rms current"
    assert told(verdict, "close") == ()


def test_other_antennas_fold_into_the_matched_one_where_they_say_the_same(solved_plain: Analysis) -> None:
    same = finding(case="any_antenna", used_fraction=1.2)
    worse = finding(case="any_antenna", used_fraction=1.1, band="80 m")
    verdict = replace(solved_plain.verdict, findings=(same, finding(used_fraction=1.1), worse))
    first, second = told(verdict)
    assert [row.place for row in first.rows] == ["40 m, any antenna", "40 m"]
    assert (second.title, [row.place for row in second.rows]) == ("Coil: heat, any antenna", ["80 m"])


def test_every_finding_is_on_exactly_one_card(solved: Analysis) -> None:
    verdict = solved.verdict
    anchors = [
        row.anchor for state in ("over", "close") for card in told(verdict, state) for row in card.rows
    ]
    assert len(anchors) == len(set(anchors)) == verdict.counts["over"] + verdict.counts["close"]
    anchors = [row.anchor for card in passing(verdict) for row in card.rows]
    assert len(anchors) == len(set(anchors)) == verdict.counts["pass"]


def test_rows_carry_number_limit_reason_remedy_and_line(solved: Analysis) -> None:
    found = told_of(groups(solved.verdict, ("over", "close")), "over")
    for card in cards(found, Origins(solved)):
        for row in card.rows:
            origin = solved.verdict.findings[int(row.anchor.partition("-")[2]) - 1]
            assert row.finding is origin
            own = [line for _, line in row.origins]
            assert own[0] == origin.line
            assert len(set(own)) == len(own)
            if origin.band is not None:
                lines = solved.amplifier.text.splitlines()
                assert "[[bands]]" in [lines[line - 1] for line in own]
            assert row.value


def test_a_finding_without_fraction_or_place_is_written_too(solved_plain: Analysis) -> None:
    bare = finding(used_fraction=None, value=None, limit=None, frequency_hertz=None, band=None, line=None)
    (card,) = told(replace(solved_plain.verdict, findings=(bare,)))
    (row,) = card.rows
    assert (card.worst, row.value, row.limit, row.used, row.frequency) == ("", "–", "", "–", "")
    assert (row.place, row.origins) == ("all bands", ())


def test_operating_points_are_named_on_the_row(solved_plain: Analysis) -> None:
    made = finding(operating_point="carrier")
    (card,) = told(replace(solved_plain.verdict, findings=(made,)))
    assert card.rows[0].place == "40 m, carrier"
