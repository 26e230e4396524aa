"""The advice on taps in 80 columns."""

import io
from dataclasses import replace

import pytest
from rich.console import Console

from netsim.advice.taps.tap_advice import BandTaps, TapsAdvice, TapState
from netsim.advice.taps.tap_words import plate_loads
from netsim.report.terminal import taps_text

NOW = TapState(10.0, 14.0, True, 3e-6, 50e-12, 300e-12, 14e6)
THEN = replace(NOW, coil_turns=12.5, loaded_q=12.1, tune_farad=40e-12)
BAND = BandTaps("20 m", NOW, THEN, (600.0, 4e3), 2.5, (), 12.5, 12.1, None, "move it")
ADVICE = TapsAdvice(1, "An amplifier", 2e3, 12.0, True, (BAND,))


def printed(advice, **options):
    stream = io.StringIO()
    console = Console(file=stream, width=80, highlight=False, markup=False, emoji=False, no_color=True)
    console.print(taps_text.render(advice, "my file.toml", **options))
    return " ".join(stream.getvalue().split())


def test_a_band_is_told_before_and_after_the_move():
    text = printed(ADVICE)
    assert "20 m present 10 3.00 µH 14.0 50.0 pF 300 pF tuned" in text
    assert "proposed 12.5 3.00 µH 12.1 40.0 pF 300 pF tuned" in text
    assert "20 m 600 Ω to 4.00 kΩ move it" in text
    assert text.endswith("Next: netsim report 'my file.toml'")


def test_a_tap_that_stays_is_told_once_and_leads_to_the_report():
    stays = replace(ADVICE, bands=(replace(BAND, proposed=NOW, move_turns=0.0),))
    text = printed(stays)
    assert "proposed" not in text
    assert text.endswith("Next: netsim report 'my file.toml'")


def test_names_are_never_markup():
    text = printed(replace(ADVICE, title="[red]x[/red]", bands=(replace(BAND, name="[b]z"),)))
    assert "[red]x[/red]" in text
    assert "[b]z present" in text


def test_one_solver_alone_is_told():
    assert "NOT CROSS-CHECKED" in printed(replace(ADVICE, cross_checked=False))
    assert "NOT CROSS-CHECKED" not in printed(ADVICE)


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (None, "none"),
        ((600.0, 4e3), "600 Ω to 4.00 kΩ"),
        ((50.0, 4e3), "up to 4.00 kΩ"),
        ((600.0, 50e3), "from 600 Ω"),
        ((50.0, 50e3), "any"),
    ],
)
def test_an_end_of_what_was_tried_is_no_end(span, words):
    assert plate_loads(span) == words
