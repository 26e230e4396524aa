"""What the bench showed beside what is calculated, and what a fit makes of it."""

from dataclasses import dataclass

from markupsafe import Markup

from netsim.advice.bench.comparison import Compared
from netsim.advice.fit.fit import Fit, FittedReading
from netsim.description.formatting import format_quantity
from netsim.report.bench_words import en_words, reading_name, with_range
from netsim.report.finding_groups import gathered
from netsim.report.notation import MARKS
from netsim.report.page.bars import used_bar
from netsim.report.page.bench.fit_section import FitSection, fit_section


@dataclass(frozen=True)
class Agreement:
    """What is calculated beside a reading, and whether they agree, in words and shape."""

    calculated: str
    en: str
    state: str
    words: str
    bar: Markup


@dataclass(frozen=True)
class ReadingRow:
    """One reading, or that of several in one table which agrees least, ``of`` how many.

    ``fitted`` is beside the best fit, ``contradicts`` how far it is off all the others, or empty.
    """

    line: int
    of: int
    what: str
    where: str
    note: str
    read: str
    in_file: Agreement
    fitted: Agreement | None
    contradicts: str


@dataclass(frozen=True)
class ReadingsSection:
    """All readings of a file: how many there are, how many agree, and whether a best fit stands beside them."""

    number: int
    agree: int
    fitted: bool
    rows: tuple[ReadingRow, ...]
    fit: FitSection | None


def readings_section(readings: tuple[Compared, ...], found: Fit | None) -> ReadingsSection | None:
    """Write the readings out, beside the file and its fit; None where there are none."""
    if not readings:
        return None
    beside = found is not None and bool(found.unknowns)
    fitted = list(found.readings) if found is not None and beside else [None] * len(readings)
    pairs = zip(readings, fitted, strict=True)
    tables = gathered(pairs, lambda pair: (pair[0].line, pair[0].kind))
    return ReadingsSection(
        number=len(readings),
        agree=sum(entry.agrees for entry in readings),
        fitted=beside,
        rows=tuple(_row(*max(table, key=_disagreement), len(table)) for table in tables.values()),
        fit=fit_section(found),
    )


def _disagreement(pair: tuple[Compared, FittedReading | None]) -> tuple[bool, float]:
    """Put one that contradicts the rest before all others, then what is farthest off."""
    entry, after = pair
    return after is not None and after.contradicts, entry.en


def _row(entry: Compared, after: FittedReading | None, of: int) -> ReadingRow:
    contradicts, hertz = "", None
    if entry.frequency_hertz is not None:
        hertz = format_quantity(entry.frequency_hertz, "Hz")
    if after is not None and after.contradicts:
        contradicts = (
            f"contradicts the rest, by {after.off:.1f} standard deviations; it is kept: make it again"
        )
    return ReadingRow(
        line=entry.line,
        of=of,
        what=reading_name(entry),
        where=", ".join(words for words in (entry.band, hertz) if words),
        note=entry.note or "",
        read=with_range(entry.measured, entry.measured_half_width, entry.unit),
        in_file=_agreement(entry),
        fitted=None if after is None else _agreement(after.compared),
        contradicts=contradicts,
    )


def _agreement(entry: Compared) -> Agreement:
    state = "pass" if entry.agrees else "over"
    words = f"{MARKS[state]} {'agrees' if entry.agrees else 'does not agree'}"
    return Agreement(
        calculated=with_range(entry.computed, entry.computed_half_width, entry.unit),
        en=en_words(entry),
        state=state,
        words=words,
        bar=used_bar(entry.en, state, f"{reading_name(entry)}, line {entry.line}: E_n {en_words(entry)}"),
    )
