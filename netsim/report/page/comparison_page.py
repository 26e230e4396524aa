"""A comparison as one HTML page: who is better in what, every margin and setting, both in each figure."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from netsim.advice.comparison import Comparison
from netsim.advice.coverage import PlateLoadCoverage
from netsim.advice.quantities import BandComparison
from netsim.analysis import response
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.description.toml_text.rewriting import difference
from netsim.report.comparison_words import FOOTNOTE
from netsim.report.figures.overlay import (
    SIDES,
    Overlay,
    coverage_overlay,
    response_overlay,
)
from netsim.report.notation import WORDS, band_anchor, finding_title, value_of, worst_of_band
from netsim.report.page.bars import used_bar
from netsim.report.page.comparison_rows import QuantityRow, band_of, margin_rows, quantity_rows, setting_pairs
from netsim.report.page.downloads import Download, amplifier_download, file_name
from netsim.report.page.templating import environment, finished, style
from netsim.verdict.result import Verdict


@dataclass(frozen=True)
class Side:
    """One of the two."""

    word: str
    verdict: Verdict
    file: str
    agreement: str
    text: str
    download: Download


@dataclass(frozen=True)
class GaugePair:
    """The highest used fraction of one band in both."""

    band: str
    target: str
    used: tuple[str, str]
    states: tuple[str, str]
    bars: tuple[Markup, Markup]
    what: str


@dataclass(frozen=True)
class BandPair:
    """One band at length."""

    anchor: str
    name: str
    summary: str
    at: str
    rows: tuple[QuantityRow, ...]
    response: Overlay
    coverage: Overlay


Maps = tuple[Sequence[PlateLoadCoverage], Sequence[PlateLoadCoverage]]


def render(found: Comparison, maps: Maps) -> str:
    """Render a comparison as one self-contained HTML document, in which files appear by their names alone.

    The maps are of the shared bands, in their order, for either amplifier.
    """
    sides = tuple(_side(found, n) for n in (0, 1))
    one, other = found.results
    loads = (one.verdict.stage.plate_load_ohm, other.verdict.stage.plate_load_ohm)
    pairs = setting_pairs(found)
    return finished(
        environment()
        .get_template("comparison.html.j2")
        .render(
            style=style(),
            sides=sides,
            sentence=_sentence(found),
            state="over" if found.alike[1].counts["over"] else "pass",
            gauge=tuple(_gauge(found, n, band) for n, band in enumerate(found.bands)),
            better=found.better,
            worse=found.worse,
            left_out=found.left_out,
            other_differences=found.other_differences,
            only=((SIDES[0], found.only_first), (SIDES[1], found.only_second)),
            amplifier=quantity_rows(found.amplifier),
            plate_load=_plate_load(loads),
            pairs=pairs,
            lost=sum(pair.tuned == (True, False) for pair in pairs),
            gained=sum(pair.tuned == (False, True) for pair in pairs),
            margins=margin_rows(found),
            bands=_bands(found, maps),
            footnote=FOOTNOTE,
            limits=tuple(walked.amplifier.description.limits for walked in found.results),
            diff=difference(sides[0].text, sides[1].text, "amplifier.toml"),
        )
    )


def _side(found: Comparison, number: int) -> Side:
    walked = found.results[number]
    verdict, path = walked.verdict, walked.amplifier.path
    same_file = found.results[0].amplifier.path == found.results[1].amplifier.path
    points = [point for band in verdict.bands for point in band.points]
    apart = [a for point in points if (a := point.agreement.worst_relative) is not None]
    suffix = f"-{verdict.topology}" if same_file else ""
    return Side(
        word=SIDES[number],
        verdict=verdict,
        file=file_name(path),
        agreement=f"{max(apart):.1e}" if apart else NOTHING,
        text=walked.amplifier.text,
        download=amplifier_download(
            f"{SIDES[number].capitalize()} amplifier file (TOML)", path, suffix, walked.amplifier.text
        ),
    )


def _sentence(found: Comparison) -> str:
    first, second = (verdict.counts["over"] for verdict in found.alike)
    if first == second == 0:
        return "Neither exceeds any rating or limit that both are judged by."
    return (
        f"Of what both are judged by, the second exceeds {_many(second)}; the first "
        f"{_many(first) if first else 'none'}."
    )


def _many(count: int) -> str:
    if not count:
        return "no rating or limit"
    return f"{count} {'rating or limit' if count == 1 else 'ratings or limits'}"


def _plate_load(loads: tuple[float, float]) -> str:
    first, second = (format_quantity(load, "ohm") for load in loads)
    ratio = loads[1] / loads[0]
    if abs(ratio - 1) < 0.005:
        return f"Both want the same plate load, {first}."
    return f"The wanted plate load goes from {first} to {second}, {ratio:.2f} times as much."


def _gauge(found: Comparison, number: int, band: BandComparison) -> GaugePair:
    used, states, bars, what = [], [], [], ""
    for side, verdict in zip(SIDES, found.alike, strict=True):
        worst = worst_of_band(verdict, band.name)
        fraction = None if worst is None else worst[1].used_fraction
        state = "not_rated" if worst is None else worst[1].state
        what = "nothing judged" if worst is None else f"{finding_title(worst[1])}, {value_of(worst[1])}"
        used.append(percent(fraction))
        states.append(state)
        bars.append(used_bar(fraction, state, f"{band.name}, {side}: {percent(fraction)}, {WORDS[state]}"))
    return GaugePair(
        band.name, band_anchor(number), (used[0], used[1]), (states[0], states[1]), (bars[0], bars[1]), what
    )


def _bands(found: Comparison, maps: Maps) -> tuple[BandPair, ...]:
    one, other = found.results
    names = [band.name for band in found.bands]
    rows = [[walked.row(name) for name in names] for walked in found.results]
    swept = [response(walked, chosen) for walked, chosen in zip(found.results, rows, strict=True)]
    limits = tuple(walked.amplifier.description.limits.harmonic_level for walked in found.results)
    pairs = []
    for number, band in enumerate(found.bands):
        anchor = band_anchor(number)
        points = band_of(one, band.name).points[0], band_of(other, band.name).points[0]
        quantities = quantity_rows(band.quantities)
        pairs.append(
            BandPair(
                anchor=anchor,
                name=band.name,
                summary=_summary(quantities, band),
                at=format_quantity(points[0].frequency_hertz, "Hz"),
                rows=quantities,
                response=response_overlay(
                    points,
                    (swept[0][number], swept[1][number]),
                    (limits[0], limits[1]),
                    f"{anchor}-response",
                    band.name,
                ),
                coverage=coverage_overlay((maps[0][number], maps[1][number]), f"{anchor}-coverage"),
            )
        )
    return tuple(pairs)


def _summary(rows: Sequence[QuantityRow], band: BandComparison) -> str:
    """Name what is better and what is worse in a line."""
    told = []
    for leaning, word in (("better", "more"), ("worse", "less")):
        words = [row.label for row in rows if row.leaning == leaning]
        parts = [m.part.replace("_", " ") for m in band.parts if m.leaning == leaning and m.notable]
        if words:
            told.append(f"{leaning}: {', '.join(words)}")
        if parts:
            told.append(f"{word} margin: {', '.join(parts)}")
    return "; ".join(told) or "no notable difference"
