"""How much of its ratings every part uses, part by band."""

from dataclasses import dataclass

from markupsafe import Markup

from netsim.description.formatting import percent
from netsim.report.finding_groups import gathered
from netsim.report.notation import (
    WORDS,
    aspect,
    band_anchor,
    case_of,
    condition_of,
    finding_anchor,
    finding_title,
    part_label,
    place_of,
    subject_of,
)
from netsim.report.page.bars import used_bar, whisker_of
from netsim.verdict.result import PART_NAMES, Finding, Verdict


@dataclass(frozen=True)
class Cell:
    """The worst of one part in one band; `target` is where it is told at length."""

    state: str
    used: str
    what: str
    bar: Markup
    target: str
    spoken: str


@dataclass(frozen=True)
class MatrixRow:
    """One part, or one property of stage or network, over the bands; None where it is not fitted."""

    label: str
    missing: int
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True)
class Matrix:
    """Bands across, parts down."""

    bands: tuple[tuple[str, str], ...]
    rows: tuple[MatrixRow, ...]


def matrix(verdict: Verdict) -> Matrix:
    """Lay the judged findings out by part and band, the worst of each in its cell."""
    rows = gathered(enumerate(verdict.findings), lambda entry: _row_of(entry[1]))
    order = [*(key for key in rows if key not in PART_NAMES), *(name for name in PART_NAMES if name in rows)]
    order = [key for key in order if any(f.band is not None for _, f in rows[key]) or key in PART_NAMES]
    return Matrix(
        bands=tuple((band.name, band_anchor(index)) for index, band in enumerate(verdict.bands)),
        rows=tuple(_row(verdict, key, rows[key]) for key in order),
    )


def _row_of(finding: Finding) -> str:
    """Parts have a row each; what belongs to no part has a row for each kind of finding."""
    return finding.part if finding.part in PART_NAMES else finding.code


def _row(verdict: Verdict, key: str, entries: list[tuple[int, Finding]]) -> MatrixRow:
    label = part_label(key) if key in PART_NAMES else subject_of(entries[0][1])
    return MatrixRow(
        label=label,
        missing=sum(f.state == "not_rated" for _, f in entries),
        cells=tuple(_cell(verdict, key, index, entries) for index in range(len(verdict.bands))),
    )


def _cell(verdict: Verdict, key: str, index: int, entries: list[tuple[int, Finding]]) -> Cell | None:
    band = verdict.bands[index]
    judged = [(i, f) for i, f in entries if f.band == band.name]
    if not judged:
        unjudged = next((i for i, f in entries if f.state == "not_rated" and f.band is None), None)
        fitted = key not in PART_NAMES or any(point.parts[key] is not None for point in band.points)
        return _unjudged(unjudged) if fitted and unjudged is not None else None
    # Sorted worst first already; a finding without a fraction only leads where it is over.
    judged.sort(key=lambda entry: entry[1].state != "over" and entry[1].used_fraction is None)
    place, worst = judged[0]
    used = percent(worst.used_fraction)
    what = (aspect(worst) if key in PART_NAMES else case_of(worst)) + condition_of(worst)
    spoken = f"{finding_title(worst)}, {place_of(worst)}: {WORDS[worst.state]}, {used} used"
    return Cell(
        state=worst.state,
        used=used,
        what=what.removeprefix(", "),
        bar=used_bar(worst.used_fraction, worst.state, spoken, whisker_of(worst)),
        target=finding_anchor(place),
        spoken=spoken,
    )


def _unjudged(place: int | None) -> Cell:
    return Cell(
        state="not_rated",
        used="",
        what="",
        bar=Markup(""),
        target="unrated" if place is None else finding_anchor(place),
        spoken="not rated",
    )
