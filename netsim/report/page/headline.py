"""The first thing read: one sentence, the counts, and the highest used fraction of every band."""

from dataclasses import dataclass

from markupsafe import Markup

from netsim.report.notation import (
    MARKS,
    WORDS,
    band_anchor,
    condition_of,
    finding_anchor,
    finding_title,
    limit_of,
    percent,
    place_of,
    value_of,
    worst_of_band,
)
from netsim.report.page.bars import used_bar
from netsim.verdict.result import Verdict


@dataclass(frozen=True)
class Count:
    """How many findings are of one state, and the section that lists them."""

    state: str
    mark: str
    word: str
    number: int
    target: str


@dataclass(frozen=True)
class BandLine:
    """The worst finding of one band."""

    name: str
    target: str
    state: str
    used: str
    bar: Markup
    what: str
    what_target: str


@dataclass(frozen=True)
class Headline:
    """Verdict sentence with what is worst, counts, and a line per band."""

    state: str
    sentence: str
    worst: str
    counts: tuple[Count, ...]
    bands: tuple[BandLine, ...]


_TARGETS = {"over": "fails", "close": "close", "not_rated": "unrated", "pass": "passes"}


def headline(verdict: Verdict) -> Headline:
    """Sum a result up."""
    over = [f for f in verdict.findings if f.state == "over"]
    worst = ""
    if over:
        first = over[0]
        against = f", {limit_of(first)}" if limit_of(first) else ""
        worst = f"{place_of(first)}: {finding_title(first).lower()}, {value_of(first)}{against}"
    return Headline(
        state="over" if over else "close" if verdict.counts["close"] else "pass",
        sentence=_sentence(verdict),
        worst=worst,
        counts=tuple(
            Count(state, MARKS[state], WORDS[state], verdict.counts[state], _TARGETS[state])
            for state in MARKS
        ),
        bands=tuple(_band_line(verdict, index, band.name) for index, band in enumerate(verdict.bands)),
    )


def _sentence(verdict: Verdict) -> str:
    over, close, unrated = (verdict.counts[state] for state in ("over", "close", "not_rated"))
    bands = len(verdict.bands)
    if over:
        hit = len({f.band for f in verdict.findings if f.state == "over" and f.band is not None})
        first = f"{over} {_plural(over, 'rating or limit is', 'ratings or limits are')} exceeded"
        first += (
            f", on {'every band' if hit == bands else f'{hit} of {bands} bands'}" if hit and bands > 1 else ""
        )
    else:
        first = "No rating or limit that could be judged is exceeded" + (" on any band" if bands > 1 else "")
    rest = []
    if close:
        rest.append(f"{close} {'more ' if over else ''}{_plural(close, 'is', 'are')} close")
    if unrated:
        rest.append(f"{unrated} could not be judged")
    return f"{first}{'; ' if rest else ''}{', '.join(rest)}."


def _plural(number: int, one: str, many: str) -> str:
    return one if number == 1 else many


def _band_line(verdict: Verdict, index: int, name: str) -> BandLine:
    found = worst_of_band(verdict, name)
    if found is None:
        return BandLine(
            name, band_anchor(index), "not_rated", percent(None), Markup(""), "nothing judged", ""
        )
    place, finding = found
    used = percent(finding.used_fraction)
    spoken = f"{name}: highest used fraction {used}, {WORDS[finding.state]}"
    target = finding_anchor(place) if finding.state in ("over", "close") else band_anchor(index)
    return BandLine(
        name=name,
        target=band_anchor(index),
        state=finding.state,
        used=used,
        bar=used_bar(finding.used_fraction, finding.state, spoken),
        what=f"{finding_title(finding)}, {value_of(finding)}{condition_of(finding)}",
        what_target=target,
    )
