"""The tables of a comparison, written out: quantities, margins part by band, and every setting."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.advice.comparison import Comparison
from netsim.advice.quantities import PartMargin, Quantity
from netsim.analysis import Analysis
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.comparison_words import LABELS, difference_shown, shown
from netsim.report.notation import MARKS, WORDS, part_label
from netsim.report.page.bars import used_bar
from netsim.verdict.result import PART_NAMES, BandResult, Point

LEANINGS = {
    "better": ("✓", "better"),
    "worse": ("✗", "worse"),
    "same": ("=", "the same"),
    "differs": ("≠", "differs"),
}
"""Mark and word of what the second makes of a number."""

_MARGINS = {"better": ("✓", "more margin"), "worse": ("✗", "less margin"), "same": ("=", "the same")}
_LITTLE = ("≈", "matters little")


@dataclass(frozen=True)
class QuantityRow:
    """One number of both."""

    label: str
    first: str
    second: str
    difference: str
    leaning: str
    mark: str
    word: str


@dataclass(frozen=True)
class MarginCell:
    """One part in one band: worst used fraction of both, each with its state."""

    first: str
    second: str
    first_bar: Markup
    second_bar: Markup
    state: str
    leaning: str
    mark: str
    word: str
    spoken: str


@dataclass(frozen=True)
class MarginRow:
    """One part over the bands; None where neither has it rated."""

    label: str
    cells: tuple[MarginCell | None, ...]


@dataclass(frozen=True)
class SettingPair:
    """Both amplifiers at one frequency; settings as they stand, with what a match would need where it is not met."""

    band: str
    rows_of_band: int
    frequency: str
    loaded_q: tuple[str, str]
    tune: tuple[str, str]
    tune_step: str
    load: tuple[str, str]
    load_step: str
    tuned: tuple[bool, bool]
    needed: tuple[str, str]


def quantity_rows(quantities: Sequence[Quantity]) -> tuple[QuantityRow, ...]:
    """Write out the quantities that both or one of them has."""
    return tuple(
        _quantity_row(q)
        for q in quantities
        if q.name in LABELS and (q.first is not None or q.second is not None)
    )


def _quantity_row(quantity: Quantity) -> QuantityRow:
    mark, word = LEANINGS[quantity.leaning]
    texts = (shown(quantity, quantity.first), shown(quantity, quantity.second), difference_shown(quantity))
    first, second, difference = (text.replace("%", " %") for text in texts)
    return QuantityRow(LABELS[quantity.name], first, second, difference, quantity.leaning, mark, word)


def margin_rows(found: Comparison) -> tuple[MarginRow, ...]:
    """Lay the margins of all parts out, parts down and bands across."""
    close = tuple(walked.amplifier.description.limits.close_to_rating for walked in found.results)
    rows = []
    for name in PART_NAMES:
        by_band = [next((m for m in band.parts if m.part == name), None) for band in found.bands]
        if any(by_band):
            cells = [
                _margin_cell(m, band.name, close) if m is not None else None
                for m, band in zip(by_band, found.bands, strict=True)
            ]
            rows.append(MarginRow(part_label(name), tuple(cells)))
    return tuple(rows)


def _margin_cell(margin: PartMargin, band: str, close: tuple[float, ...]) -> MarginCell:
    states = [_state(used, limit) for used, limit in zip((margin.first, margin.second), close, strict=True)]
    if margin.first is None or margin.second is None:
        mark, word = ("+", "only in the second") if margin.first is None else ("−", "only in the first")
        leaning = "differs"
    elif margin.notable or margin.leaning == "same":
        leaning = margin.leaning
        mark, word = _MARGINS[leaning]
    else:
        leaning, (mark, word) = "same", _LITTLE
    label = part_label(margin.part)
    return MarginCell(
        first=percent(margin.first),
        second=percent(margin.second),
        first_bar=used_bar(margin.first, states[0], f"{label}, {band}, first: {percent(margin.first)} used"),
        second_bar=used_bar(
            margin.second, states[1], f"{label}, {band}, second: {percent(margin.second)} used"
        ),
        state=states[1],
        leaning=leaning,
        mark=mark,
        word=word,
        spoken=f"{MARKS[states[1]]} {WORDS[states[1]]}" if states[1] in ("over", "close") else "",
    )


def _state(used: float | None, close: float) -> str:
    if used is None:
        return "not_rated"
    return "over" if used > 1 else "close" if used > close else "pass"


def setting_pairs(found: Comparison) -> tuple[SettingPair, ...]:
    """Put every setting of both side by side, at the frequencies that both have."""
    pairs = []
    for band in found.bands:
        one, other = (band_of(walked, band.name) for walked in found.results)
        points = _paired(one, other)
        for number, pair in enumerate(points):
            pairs.append(_setting_pair(band.name, 0 if number else len(points), pair))
    return tuple(pairs)


def band_of(walked: Analysis, name: str) -> BandResult:
    """Return one band of a result."""
    return next(band for band in walked.verdict.bands if band.name == name)


def _paired(one: BandResult, other: BandResult) -> list[tuple[Point, Point]]:
    """Match points by frequency; where none is shared, the first of each stand together."""
    theirs = np.array([point.frequency_hertz for point in other.points])
    pairs = []
    for point in one.points:
        near = int(np.argmin(np.abs(theirs - point.frequency_hertz)))
        if np.isclose(theirs[near], point.frequency_hertz, rtol=1e-4):
            pairs.append((point, other.points[near]))
    return pairs or [(one.points[0], other.points[0])]


def _setting_pair(band: str, rows_of_band: int, pair: tuple[Point, Point]) -> SettingPair:
    one, other = pair
    shown_at = dict.fromkeys(format_quantity(p.frequency_hertz, "Hz") for p in pair)
    return SettingPair(
        band=band,
        rows_of_band=rows_of_band,
        frequency=" and ".join(shown_at),
        loaded_q=(format_quantity(one.loaded_q, "1"), format_quantity(other.loaded_q, "1")),
        tune=(format_quantity(one.tune_farad, "F"), format_quantity(other.tune_farad, "F")),
        tune_step=_step(one.tune_farad, other.tune_farad),
        load=(format_quantity(one.load_farad, "F"), format_quantity(other.load_farad, "F")),
        load_step=_step(one.load_farad, other.load_farad),
        tuned=(one.tuned, other.tuned),
        needed=(_needed(one), _needed(other)),
    )


def _step(first: float, second: float) -> str:
    step = second - first
    return f"{'+' if step > 0 else ''}{format_quantity(step, 'F')}"


def _needed(point: Point) -> str:
    """Tell what a match would need; nothing where it is met."""
    if point.tuned:
        return ""
    if point.tune_needed_farad is None or point.load_needed_farad is None:
        return "no match with this coil"
    tune, load = format_quantity(point.tune_needed_farad, "F"), format_quantity(point.load_needed_farad, "F")
    return f"a match needs {tune} and {load}" if NOTHING not in (tune, load) else ""
