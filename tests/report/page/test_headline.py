from dataclasses import replace
from typing import Any

import pytest
from report_cases import finding

from netsim.analysis import Analysis
from netsim.report.finding_groups import by_part, groups
from netsim.report.page.headline import headline, sentence, span_of
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
    ("findings", "told"),
    [
        ([{}], "The network matches on all 3 bands; 1 part or limit is over."),
        ([{}, {"band": "80 m"}], "The network matches on all 3 bands; 1 part or limit is over."),
        (
            [{}, {"part": "suppressor"}, CLOSE, GAP],
            "The network matches on all 3 bands; 2 parts or limits are over; 1 value is not rated.",
        ),
        ([CLOSE, CLOSE], "The network matches on all 3 bands; nothing that is rated is exceeded."),
        (
            [GAP, GAP],
            "The network matches on all 3 bands; nothing that is rated is exceeded; 2 values are not rated.",
        ),
    ],
)
def test_the_sentence_tells_the_match_then_what_is_over(
    solved_plain: Analysis, findings: list[dict[str, Any]], told: str
) -> None:
    verdict = with_findings(solved_plain.verdict, *(finding(**given) for given in findings))
    over = by_part(groups(verdict, ("over",)))
    assert sentence(verdict, len(over)) == told
    assert headline(replace(solved_plain, verdict=verdict), over).sentence == told


def test_bands_that_do_not_match_are_counted(solved_plain: Analysis) -> None:
    bands = solved_plain.verdict.bands
    missed = replace(bands[0], points=tuple(replace(point, tuned=False) for point in bands[0].points))
    verdict = replace(solved_plain.verdict, bands=(missed, *bands[1:]))
    assert sentence(verdict, 1).startswith("The network matches on 2 of 3 bands; ")
    line = headline(replace(solved_plain, verdict=verdict), ()).bands[0]
    assert "▲ not matched" in line.match
    assert sentence(replace(verdict, bands=(missed,)), 0).startswith("The network does not match; ")


def test_what_is_over_is_told_by_part_and_cause(solved_plain: Analysis) -> None:
    verdict = with_findings(
        solved_plain.verdict,
        finding(used_fraction=1.5),
        finding(used_fraction=1.2, band="80 m"),
        finding(code="part_current", quantity="current_rms", used_fraction=1.1),
        finding(code="loaded_q", part="network", quantity="loaded_q", used_fraction=1.05, band="20 m"),
    )
    assert headline(solved_plain, by_part(groups(verdict, ("over",)))).over == (
        ("Coil", (("heat", "2 bands", "150 %", "card-1"), ("current", "40 m", "110 %", "card-3"))),
        ("Loaded Q", (("", "20 m", "105 %", "card-4"),)),
    )


def test_a_band_shows_its_settings_from_lowest_to_highest(solved: Analysis) -> None:
    """Derived: ends of the result's own values."""
    for line, band in zip(headline(solved, ()).bands, solved.verdict.bands, strict=True):
        heat = [point.plate_dissipation_watt for point in band.points]
        assert line.plate_heat == span_of(heat, "W")
        assert (line.match == "✓ matched") == all(point.tuned for point in band.points)
        assert line.tune_dial == ""  # the file gives no table


@pytest.mark.parametrize(
    ("values", "unit", "shown"),
    [
        ([95e-12, 130e-12], "F", "95.0 to 130 pF"),
        ([95e-12], "F", "95.0 pF"),
        ([900e-12, 1.2e-9], "F", "900 pF to 1.20 nF"),
        ([12.01, 12.02], "1", "12.0"),
    ],
)
def test_a_span_names_its_prefix_once(values: list[float], unit: str, shown: str) -> None:
    assert span_of(values, unit) == shown


def test_every_band_has_its_highest_used_fraction(solved: Analysis) -> None:
    told = headline(solved, ())
    assert [line.name for line in told.bands] == [band.name for band in solved.verdict.bands]
    for line in told.bands:
        own = [f for f in solved.verdict.findings if f.band == line.name and f.state == line.state]
        numbers = [f.used_fraction for f in own if f.used_fraction is not None]
        assert line.used in {f"{float(f'{100 * max(numbers):.3g}'):g} %", "–"}


def test_a_band_with_nothing_judged_says_so(solved_plain: Analysis) -> None:
    line = headline(replace(solved_plain, verdict=with_findings(solved_plain.verdict)), ()).bands[0]
    assert (line.state, line.used, line.what) == ("not_rated", "–", "nothing judged")
