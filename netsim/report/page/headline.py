"""The first screen: whether every band matches, then what is over by part and cause."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.description.formatting import format_quantity, percent
from netsim.description.models.capacitors import VariableCapacitor
from netsim.report.figures.svg import Rows
from netsim.report.finding_groups import Group, PartCauses, bands_of, cause_of
from netsim.report.notation import (
    MARKS,
    WORDS,
    band_anchor,
    condition_of,
    finding_anchor,
    finding_title,
    flagged,
    value_of,
    worst_of_band,
)
from netsim.report.page.bars import used_bar, whisker_of
from netsim.report.page.bench.bench_card import dial
from netsim.report.page.cards import card_anchor
from netsim.verdict.result import BandResult, Point, Verdict


@dataclass(frozen=True)
class BandLine:
    """One band: matched or not, its settings, its output, and its worst finding.

    From lowest to highest where the band's frequencies differ.
    """

    name: str
    target: str
    match: str
    loaded_q: str
    tune: str
    tune_dial: str
    load: str
    load_dial: str
    output: str
    plate_heat: str
    state: str
    used: str
    bar: Markup
    unsure: bool
    what: str
    what_target: str


@dataclass(frozen=True)
class Headline:
    """Verdict in a sentence, a line for each band, and what is over.

    Of each part that is its causes: what, on which bands, how much is used, where it is told at length.
    """

    state: str
    sentence: str
    bands: tuple[BandLine, ...]
    over: tuple[tuple[str, Rows], ...]


def headline(result: Analysis, over: Sequence[PartCauses]) -> Headline:
    """Sum a result up, with what is over by part."""
    verdict = result.verdict
    every = len(verdict.bands)
    return Headline(
        state="over" if over else "close" if verdict.counts["close"] else "pass",
        sentence=sentence(verdict, len(over)),
        bands=tuple(_band_line(result, index, band) for index, band in enumerate(verdict.bands)),
        over=tuple((part.label, tuple(_cause(group, every) for group in part.groups)) for part in over),
    )


def sentence(verdict: Verdict, over: int) -> str:
    """Say whether the bands match and how many parts or limits are over, with what was not rated."""
    bands = verdict.bands
    matched = sum(_matched(band) for band in bands)
    if len(bands) == 1:
        match = "The network matches" if matched else "The network does not match"
    elif matched == len(bands):
        match = f"The network matches on all {matched} bands"
    else:
        match = f"The network matches on {matched or 'none'} of {len(bands)} bands"
    unrated = verdict.counts["not_rated"]
    if over:
        rest = f"{over} {'part or limit is' if over == 1 else 'parts or limits are'} over"
    else:
        rest = "nothing that is rated is exceeded"
    if unrated:
        rest += f"; {unrated} {'value is' if unrated == 1 else 'values are'} not rated"
    return f"{match}; {rest}."


def _cause(group: Group, every: int) -> tuple[str, ...]:
    fraction = group.worst.used_fraction
    used = "" if fraction is None else percent(fraction)
    return cause_of(group), bands_of(group, every, "over"), used, card_anchor(group)


def _matched(band: BandResult) -> bool:
    return all(point.tuned for point in band.points)


def _band_line(result: Analysis, index: int, band: BandResult) -> BandLine:
    network, verdict = result.amplifier.description.network, result.verdict
    found = worst_of_band(verdict, band.name)
    used = percent(None if found is None else found[1].used_fraction)
    state = "not_rated" if found is None else found[1].state

    def span(take: Callable[[Point], float], unit: str) -> str:
        return span_of([take(point) for point in band.points], unit)

    def dials(take: Callable[[Point], float], part: VariableCapacitor) -> str:
        if not part.dial:
            return ""
        figures = dict.fromkeys(dial(take(point), part) for point in band.points)
        return " to ".join(figures)

    return BandLine(
        name=band.name,
        target=band_anchor(index),
        match=_match_words(band),
        loaded_q=span(lambda p: p.loaded_q, "1"),
        tune=span(lambda p: p.tune_farad, "F"),
        tune_dial=dials(lambda p: p.tune_farad, network.tune_capacitor),
        load=span(lambda p: p.load_farad, "F"),
        load_dial=dials(lambda p: p.load_farad, network.load_capacitor),
        output=span(lambda p: p.output_watt, "W"),
        plate_heat=span(lambda p: p.plate_dissipation_watt, "W"),
        state=state,
        used=used,
        bar=Markup("")
        if found is None
        else used_bar(
            found[1].used_fraction,
            state,
            f"{band.name}: highest used fraction {used}, {WORDS[state]}",
            whisker_of(found[1]),
        ),
        unsure=found is not None and found[1].unsure,
        what="nothing judged"
        if found is None
        else f"{finding_title(found[1])}, {value_of(found[1])}{condition_of(found[1])}",
        what_target=band_anchor(index) if found is None else finding_anchor(found[0]),
    )


def _match_words(band: BandResult) -> str:
    missed = sum(not point.tuned for point in band.points)
    if not missed:
        return f"{MARKS['pass']} matched"
    return flagged("not matched" if missed == len(band.points) else f"not at {missed} of {len(band.points)}")


def span_of(values: list[float], unit: str) -> str:
    """Write values of one unit from lowest to highest, the prefix once where both share it."""
    low, high = (format_quantity(end, unit) for end in (min(values), max(values)))
    if low == high:
        return low
    first, _, prefix = low.partition(" ")
    return f"{first} to {high}" if prefix == high.partition(" ")[2] else f"{low} to {high}"
