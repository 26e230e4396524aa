from dataclasses import replace
from typing import Any

import pytest
from report_cases import finding

from netsim.analysis import Result
from netsim.report.page.headline import headline
from netsim.verdict.result import Finding, Verdict


def with_findings(verdict: Verdict, *findings: Finding) -> Verdict:
    """Replace the findings and count them."""
    states = ("over", "close", "not_rated", "pass")
    counts = {state: sum(f.state == state for f in findings) for state in states}
    return replace(verdict, findings=findings, counts=counts)


CLOSE: dict[str, Any] = {"state": "close", "used_fraction": 0.95}
GAP: dict[str, Any] = {
    "state": "not_rated",
    "used_fraction": None,
    "band": None,
    "value": None,
    "limit": None,
}


@pytest.mark.parametrize(
    ("findings", "sentence"),
    [
        ([{}], "1 rating or limit is exceeded, on 1 of 3 bands."),
        ([{}, {"band": "80 m"}], "2 ratings or limits are exceeded, on 2 of 3 bands."),
        (
            [{}, {"band": "80 m"}, {"band": "20 m"}, CLOSE, GAP],
            "3 ratings or limits are exceeded, on every band; 1 more is close, 1 could not be judged.",
        ),
        ([CLOSE, CLOSE], "No rating or limit that could be judged is exceeded on any band; 2 are close."),
        ([GAP], "No rating or limit that could be judged is exceeded on any band; 1 could not be judged."),
        ([], "No rating or limit that could be judged is exceeded on any band."),
    ],
)
def test_the_sentence_counts(solved_plain: Result, findings: list[dict[str, Any]], sentence: str) -> None:
    verdict = with_findings(solved_plain.verdict, *(finding(**given) for given in findings))
    assert headline(verdict).sentence == sentence


def test_the_worst_is_named_with_its_limit(solved_plain: Result) -> None:
    verdict = with_findings(solved_plain.verdict, finding(operating_point="carrier"))
    assert headline(verdict).worst == "40 m, carrier: coil: heat, 110 W, rated 100 W"
    assert headline(with_findings(solved_plain.verdict)).worst == ""


def test_every_band_has_its_highest_used_fraction(solved: Result) -> None:
    told = headline(solved.verdict)
    assert [line.name for line in told.bands] == [band.name for band in solved.verdict.bands]
    for line in told.bands:
        own = [f for f in solved.verdict.findings if f.band == line.name and f.state == line.state]
        numbers = [f.used_fraction for f in own if f.used_fraction is not None]
        assert line.used in {f"{float(f'{100 * max(numbers):.3g}'):g} %", "–"}


def test_a_band_with_nothing_judged_says_so(solved_plain: Result) -> None:
    line = headline(with_findings(solved_plain.verdict)).bands[0]
    assert (line.state, line.used, line.what) == ("not_rated", "–", "nothing judged")


def test_the_counts_are_those_of_the_result(solved: Result) -> None:
    counts = headline(solved.verdict).counts
    assert {count.state: count.number for count in counts} == solved.verdict.counts
    assert all(count.mark and count.word and count.target for count in counts)
