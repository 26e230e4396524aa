"""The result in 80 columns."""

import io
from dataclasses import replace

import pytest
from rich.console import Console

from netsim.description.formatting import percent
from netsim.report.code_reference import code_reference
from netsim.report.terminal import result_text as terminal


def printed(renderable, width=80):
    stream = io.StringIO()
    Console(file=stream, width=width, highlight=False, markup=False, emoji=False, no_color=True).print(
        renderable
    )
    return stream.getvalue()


def words(text):
    return " ".join(text.replace("why:", " why: ").split())


def test_what_fails_comes_first_and_worst_first(solved):
    text = printed(terminal.render(solved.verdict, "x.toml"))
    if solved.verdict.counts["over"]:
        assert "Ratings or limits are exceeded" in text
        assert text.index("Band ") < text.index("OVER") < text.index("CLOSE")
        over = [f for f in solved.verdict.findings if f.state == "over"]
        assert text.index("OVER") < text.index(over[0].message.split(":")[0])
    else:
        assert "Nothing that is rated is exceeded" in text
        assert "OVER" not in text


def test_every_failing_finding_is_there_in_full_or_as_a_band(solved):
    text = words(printed(terminal.render(solved.verdict, "x.toml"), width=2000))
    seen = set()
    for finding in solved.verdict.findings:
        kind = (finding.code, finding.part, finding.quantity, finding.case)
        if finding.state == "pass":
            continue
        if kind in seen:
            used = "" if finding.used_fraction is None else f" {percent(finding.used_fraction, '')}"
            assert f"{finding.band}{used}" in text[text.index("also:") :]
        else:
            assert words(f"{finding.message} why: {finding.why}") in text
            assert f"fix: {finding.fix}" in text
        seen.add(kind)


def test_counts_are_those_of_the_result(solved):
    counts = solved.verdict.counts
    text = printed(terminal.render(solved.verdict, "x.toml"))
    assert (
        f"{counts['over']} over, {counts['close']} close, {counts['not_rated']} not rated, {counts['pass']} pass"
        in words(text)
    )


def test_it_ends_with_the_next_command_quoted_for_the_shell(solved):
    text = printed(terminal.render(solved.verdict, "my amplifier; rm x.toml"))
    assert text.rstrip().endswith("netsim report 'my amplifier; rm x.toml'")


def test_every_point_has_its_row(solved):
    text = printed(terminal.render(solved.verdict, "x.toml"))
    for band in solved.verdict.bands:
        for point in band.points:
            megahertz = f"{point.frequency_hertz / 1e6:.6g}"
            assert f" {megahertz}  {'  yes' if point.tuned else '  no*'} " in text
    assert ("* no match" in text) == (not all(p.tuned for b in solved.verdict.bands for p in b.points))


def test_who_agreed_is_said(solved_plain, unchecked_plain):
    assert "scikit-rf" in printed(terminal.render(solved_plain.verdict, "x"))
    text = printed(terminal.render(unchecked_plain.verdict, "x"))
    assert text.count("NOT CROSS-CHECKED") == 2
    assert "agree" not in text


@pytest.mark.parametrize("hostile", ["[red]x[/red] :skull:", "m" * 200, "名" * 60])
def test_texts_of_the_file_are_only_text_and_keep_the_width(solved_plain, hostile):
    verdict = solved_plain.verdict
    band = replace(verdict.bands[0], name=hostile)
    text = printed(terminal.render(replace(verdict, title=hostile, bands=(band,)), "x"))
    assert hostile[:6] in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_explanations_show_kind_and_remedies():
    text = printed(terminal.render_code("loaded_q", code_reference()["loaded_q"]))
    assert text.startswith("loaded_q (finding): ")
    assert text.rstrip().endswith("Next: netsim report FILE")


def test_without_all_reasons_are_left_for_the_asking(solved):
    text = printed(terminal.render(solved.verdict, "x.toml", everything=False))
    assert "why:" not in text
    assert "netsim check x.toml --all" in text
    for finding in solved.verdict.findings:
        if finding.state == "over":
            assert percent(finding.used_fraction, "") in text
    assert "Assumed" in text


def test_what_is_not_rated_is_told_by_part(solved_plain):
    first = solved_plain.verdict.findings[0]
    gap = replace(first, state="not_rated", case="matched", band=None, used_fraction=None)
    gaps = (
        replace(gap, part="coil", code="part_current", quantity="current_rms"),
        replace(gap, part="coil", code="part_power", quantity="loss"),
    )
    text = printed(terminal.render(replace(solved_plain.verdict, findings=gaps), "x", everything=False))
    assert "NOT RATED: coil (current, heat)." in text
