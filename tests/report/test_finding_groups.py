"""Findings by part and cause."""

from dataclasses import replace

from report_cases import finding

from netsim.analysis import Analysis
from netsim.report.finding_groups import bands_of, by_part, cause_of, grouped, groups


def test_bands_fold_and_other_quantities_do_not() -> None:
    entries = [
        finding(band="80 m", used_fraction=1.5),
        finding(band="40 m", used_fraction=1.2),
        finding(code="part_current", quantity="current_rms"),
    ]
    heat, current = grouped(enumerate(entries))
    assert [index for index, _ in heat.findings] == [0, 1]
    assert (heat.worst.band, len(heat.others), len(current.others)) == ("80 m", 1, 0)
    assert heat.bands("over") == ("80 m", "40 m")


def test_other_antennas_stand_alone_where_the_matched_one_says_another_thing() -> None:
    entries = [finding(case="any_antenna", used_fraction=1.3), finding(state="close", used_fraction=0.95)]
    assert len(grouped(enumerate(entries))) == 2


def test_only_bands_of_the_state_are_counted() -> None:
    entries = [finding(band="80 m"), finding(band="40 m"), finding(band="20 m", state="close")]
    (group,) = grouped(enumerate(entries))
    assert bands_of(group, 3, "over") == "2 bands"
    assert bands_of(group, 2, "over") == "all 2 bands"
    assert bands_of(group, 3, "close") == "20 m"


def test_causes_of_one_part_stand_together(solved_plain: Analysis) -> None:
    verdict = replace(
        solved_plain.verdict,
        findings=(finding(), finding(part="network", code="loaded_q"), finding(code="part_current")),
    )
    coil, loaded = by_part(groups(verdict, ("over",)))
    assert [cause_of(group) for group in coil.groups] == ["heat", "current"]
    assert (loaded.label, cause_of(loaded.groups[0])) == ("Loaded Q", "")
