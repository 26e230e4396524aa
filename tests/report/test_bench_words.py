"""Words about the bench that page and terminal share."""

import pytest

from netsim.advice.bench.bench import Pointer
from netsim.advice.bench.cold_test import Resistors
from netsim.advice.bench.comparison import Compared
from netsim.advice.fit.next_reading import Inseparable, NextReading
from netsim.report.bench_words import (
    en_words,
    impedance,
    inseparable_words,
    next_reading,
    pair,
    pointer_words,
    with_range,
)

COLD = NextReading("cold match", "40 m", 7.15e6, None, None, None, None, 1.5)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (COLD, "a cold match on 40 m at 7.15 MHz"),
        (
            NextReading("inductance", None, None, "output_coil", 9.75, None, None, 1.0),
            "the inductance of the output coil to its tap at 9.75 turns",
        ),
        (
            NextReading("capacitance", None, None, None, None, "tune_capacitor", 50.0, 1.0),
            "the capacitance of the tune capacitor at dial 50",
        ),
    ],
)
def test_readings_that_could_be_made(reading: NextReading, words: str) -> None:
    assert next_reading(reading) == words


def test_what_cannot_be_told_apart() -> None:
    assert (
        inseparable_words(Inseparable("a", "b", -0.984, None))
        == "a and b (correlation -0.98); no single reading would"
    )
    assert inseparable_words(Inseparable("a", "b", 0.95, COLD)).endswith(
        "a cold match on 40 m at 7.15 MHz would"
    )


def test_what_a_reading_says_of_a_loss() -> None:
    assert pointer_words(Pointer(194, "40 m", "leads", 29.8, -1.5, -0.21)) == (
        "40 m, line 194: coil's leads, switch, cabinet loses 1.50 W less than the limits alone let expect "
        "(0.2 standard deviations), 29.8 W"
    )


def test_resistors_impedances_and_ranges() -> None:
    assert pair(Resistors((3300.0,), "alone", 3300.0)) == "3.3 kΩ"
    assert pair(Resistors((100.0, 1800.0), "series", 1900.0)) == "100 Ω and 1.8 kΩ in series"
    assert impedance(46.34 - 5.94j) == "46.34 - 5.94j"
    assert with_range(46.5 + 7.9j, 1.4, "ohm") == "46.5 + 7.9j ± 1.4 Ω"
    assert with_range(660e-12, 0.0, "F") == "660 pF"
    assert with_range(1.15, 0.05, "1") == "1.15 ± 0.05"


@pytest.mark.parametrize(
    ("en", "words"), [(0.353, "0.35"), (1.0, "1.00"), (1.0009, "1.001"), (0.9996, "0.9996")]
)
def test_en_never_hides_on_which_side_of_one_it_is(en: float, words: str) -> None:
    entry = Compared(9, "cold match", "swr", "1", "40 m", 7e6, None, 1.2, 0.1, 1.3, 0.1, en)
    assert en_words(entry) == words
    assert entry.agrees == (float(words) <= 1)
