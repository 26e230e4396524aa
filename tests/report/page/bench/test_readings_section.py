"""Readings beside what is calculated, as the page has them."""

from dataclasses import replace

import numpy as np
import pytest

from netsim.advice.bench.bench import Bench
from netsim.advice.fit.faults import Suspect
from netsim.advice.fit.fit import Fit
from netsim.report.page.bench.readings_section import readings_section
from netsim.report.page.templating import environment


def test_en_on_the_page_is_what_the_standard_makes_of_what_stands_beside_it(
    benched: Bench, fitted: Fit
) -> None:
    """ISO 13528:2015, 9.7 (memory): |x - X| / sqrt(U_x^2 + U_X^2), of the figures as they are printed.

    These have three digits and their ranges two: hence 0.08 and 6 %.
    """
    section = readings_section(benched.readings, fitted)
    assert section is not None
    assert (section.number, len(section.rows)) == (13, 13)
    for row in section.rows:
        assert row.fitted is not None
        for beside in (row.in_file, row.fitted):
            (value, half), (read, its_half) = numbers(beside.calculated), numbers(row.read)
            wanted = abs(value - read) / np.hypot(half, its_half)
            assert float(beside.en) == pytest.approx(wanted, abs=0.08, rel=0.06)
            assert beside.words == ("✓ agrees" if float(beside.en) <= 1 else "▲ does not agree")
    for row, entry, after in zip(section.rows, benched.readings, fitted.readings, strict=True):
        assert row.fitted is not None
        assert float(row.in_file.en) == pytest.approx(entry.en, abs=0.006)
        assert float(row.fitted.en) == pytest.approx(after.compared.en, abs=0.006)
    assert section.agree == sum(row.in_file.state == "pass" for row in section.rows)
    assert 0 < section.agree < 13


def numbers(text: str) -> tuple[complex, float]:
    """Take a value and its half-width apart, in the prefix of the value."""
    prefix = {"p": 1e-12, "n": 1e-9, "µ": 1e-6}
    value, _, half = text.partition(" ± ")

    def one(words: str) -> complex:
        number, _, unit = words.removesuffix(" Ω").replace(" - ", "-").replace(" + ", "+").partition(" ")
        return complex(number) * (prefix.get(unit[0], 1.0) if len(unit) > 1 else 1.0)

    return one(value), abs(one(half)) if half else 0.0


def test_a_capacitance_by_hand(benched: Bench) -> None:
    """Of the file: 650 pF at dial 50 and 10 pF of stray, nothing of it within limits; read 664.7 pF +- 2 %.

    4.7 / (0.02 x 664.7) = 0.35.
    """
    section = readings_section(benched.readings, None)
    assert section is not None
    row = section.rows[-1]
    assert (row.what, row.where, row.line) == ("capacitance", "", 229)
    assert (row.in_file.calculated, row.read, row.in_file.en) == ("660 pF", "665 pF ± 13 pF", "0.35")
    assert row.fitted is None
    assert section.fit is None


def test_of_many_readings_in_one_table_the_worst_stands_for_all(benched: Bench, fitted: Fit) -> None:
    first, *rest = benched.readings
    many = tuple(
        replace(first, en=en, frequency_hertz=3.5e6 + 1e5 * n) for n, en in enumerate((0.2, 1.4, 0.9))
    )
    after = tuple(replace(fitted.readings[0], compared=entry) for entry in many)
    section = readings_section((*many, *rest), replace(fitted, readings=(*after, *fitted.readings[1:])))
    assert section is not None
    assert (section.number, len(section.rows)) == (15, 13)
    assert (section.rows[0].of, section.rows[0].in_file.en, section.rows[0].where) == (
        3,
        "1.40",
        "80 m, 3.6 MHz",
    )
    # One that contradicts the rest is never hidden behind another.
    after = (*after[:2], replace(after[2], contradicts=True, off=4.2))
    section = readings_section((*many, *rest), replace(fitted, readings=(*after, *fitted.readings[1:])))
    assert section is not None
    assert section.rows[0].in_file.en == "0.90"
    assert section.rows[0].contradicts.startswith("contradicts the rest, by 4.2 standard deviations")
    assert not section.rows[1].contradicts


def test_without_readings_there_is_no_section() -> None:
    assert readings_section((), None) is None


def test_the_first_suspect_stands_before_the_readings(benched: Bench, fitted: Fit) -> None:
    suspects = (
        Suspect(
            "padding_missing", "<80 m>", 111, "<80 m>: the load padding is not switched in", 3.8, 2.0, True
        ),
    )
    poor = replace(fitted, explained=False, after=None, diff="", inseparable=(), suspects=suspects)
    template = environment().get_template("readings.html.j2")

    def shown(found: Fit) -> str:
        return template.render(readings=readings_section(benched.readings, found))

    text = shown(poor)
    suspect = text.index("First suspect: &lt;80 m&gt;: the load padding is not switched in")
    assert suspect < text.index("<table") < text.index("nothing is adopted")
    assert "not explained within the limits" in text
    assert '<svg class="plot' not in text
    assert "First suspect" not in shown(fitted)
    assert "None of the usual faults" in shown(replace(poor, suspects=()))


def test_without_limits_no_best_fit_stands_beside_the_readings(benched: Bench, fitted: Fit) -> None:
    section = readings_section(benched.readings, replace(fitted, unknowns=()))
    assert section is not None
    assert not section.fitted
    assert all(row.fitted is None for row in section.rows)
