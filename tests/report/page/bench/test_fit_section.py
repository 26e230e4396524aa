"""The fit as the page has it."""

from dataclasses import replace

from netsim.advice.fit.faults import Suspect
from netsim.advice.fit.fit import Fit, changes
from netsim.report.bench_words import NO_LIMITS, NOT_EXPLAINED
from netsim.report.notation import finding_title, place_of
from netsim.report.page.bench.fit_section import FitSection, fit_section

PADDING = Suspect("padding_missing", "80 m", 111, "80 m: the load padding is not switched in", 3.8, 2.0, True)
TAP = Suspect("tap_step", "80 m", 110, "80 m: the tap 1 step back", 1025.1, 2.0, False)


def section_of(found: Fit) -> FitSection:
    section = fit_section(found)
    assert section is not None
    return section


def test_verdicts_that_moved_are_told_with_both_figures(fitted: Fit) -> None:
    section = section_of(fitted)
    assert fitted.after is not None
    before, after = (one.verdict.counts for one in (fitted.before, fitted.after))
    assert section.verdict == (
        f"{before['over']} over, {before['close']} close and {before['unsure']} unsure become "
        f"{after['over']} over, {after['close']} close and {after['unsure']} unsure"
    )
    wanted = {
        (place_of(was), finding_title(was)): (was, now)
        for was, now in changes(fitted)
        if now is not None and was.state != "not_rated" and (was.state, was.unsure) != (now.state, now.unsure)
    }
    assert {(row.where, row.what) for row in section.moved} == wanted.keys()
    row = next(row for row in section.moved if (row.where, row.what) == ("10 m", "Tune capacitor: range"))
    assert row.before.words == "▲ over ≈ unsure"
    assert row.after.words == "✓ pass"
    was, now = wanted["10 m", "Tune capacitor: range"]
    assert now is not None
    assert float(row.before.used.split(" ")[0]) / 100 == round(was.used_fraction or 0, 2)
    assert float(row.after.used.split(" ")[0]) / 100 == round(now.used_fraction or 0, 3)
    assert "whisker" in row.before.bar


def test_what_is_explained_has_a_figure_and_a_file(fitted: Fit) -> None:
    section = section_of(fitted)
    assert (section.explained, section.obstacle, section.suspects, section.first_suspect) == (
        True,
        "",
        (),
        None,
    )
    assert section.figure is not None
    assert len(section.figure.rows) == len(fitted.unknowns) == 7
    assert "chi-square" in section.sentence
    assert section.inseparable[0].startswith("stage.output_capacitance and network.tune_capacitor.stray (")
    assert section.fitted_file is not None
    assert section.fitted_file.file_name == "on-the-bench-fitted.toml"
    assert '+output_capacitance = "' in section.diff
    assert "/circuits/" not in section.diff


def test_what_is_not_explained_says_why_there_is_no_figure_and_what_may_be_wrong(fitted: Fit) -> None:
    poor = replace(fitted, explained=False, after=None, diff="", inseparable=(), suspects=(PADDING, TAP))
    section = section_of(poor)
    assert (section.explained, section.obstacle, section.figure) == (False, NOT_EXPLAINED, None)
    assert "not explained" in section.sentence
    assert section.first_suspect == section.suspects[0] == PADDING
    assert (section.moved, section.verdict, section.fitted_file) == ((), "", None)
    # Where nothing explains them, nobody is accused.
    assert section_of(replace(poor, suspects=(TAP,))).first_suspect is None


def test_without_limits_there_is_nothing_to_fit(fitted: Fit) -> None:
    section = section_of(replace(fitted, unknowns=()))
    assert (section.obstacle, section.figure) == (NO_LIMITS, None)


def test_no_fit_no_section() -> None:
    assert fit_section(None) is None
