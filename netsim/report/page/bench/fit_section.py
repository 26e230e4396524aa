"""What the readings make of what is known: limits before and after, the verdict before and after, what to read next."""

from dataclasses import dataclass

from markupsafe import Markup

from netsim.advice.fit.faults import Suspect
from netsim.advice.fit.fit import Fit, moved
from netsim.description.formatting import NOTHING, percent
from netsim.description.toml_text.rewriting import difference
from netsim.report.bench_words import (
    AFTERWARDS,
    MOST_SUSPECTS,
    NO_LIMITS,
    NOT_EXPLAINED,
    chi_square_words,
    counts_moved,
    inseparable_words,
    measure_next,
)
from netsim.report.figures.limits_figure import LimitsFigure, limits_figure
from netsim.report.known_words import UNSURE, UNSURE_MARK, used_range
from netsim.report.notation import MARKS, WORDS, finding_title, place_of
from netsim.report.page.bars import used_bar, whisker_of
from netsim.report.page.downloads import Download, amplifier_download, file_name
from netsim.verdict.result import Finding


@dataclass(frozen=True)
class Sureness:
    """A finding as it was or is; empty where it is gone."""

    state: str
    words: str
    used: str
    limits: str
    bar: Markup


@dataclass(frozen=True)
class MovedRow:
    """A finding that is of another state after the readings, or known better or worse."""

    where: str
    what: str
    before: Sureness
    after: Sureness


@dataclass(frozen=True)
class FitSection:
    """Everything about the fit.

    ``first_suspect`` is None where nothing that was tried explains the readings; ``obstacle`` tells why there is no
    figure.
    """

    explained: bool
    sentence: str
    first_suspect: Suspect | None
    suspects: tuple[Suspect, ...]
    obstacle: str
    figure: LimitsFigure | None
    inseparable: tuple[str, ...]
    verdict: str
    moved: tuple[MovedRow, ...]
    afterwards: str
    measure_next: str
    diff: str
    fitted_file: Download | None


def fit_section(found: Fit | None) -> FitSection | None:
    """Write a fit out; None where there is none."""
    if found is None:
        return None
    suspects = tuple(found.suspects[:MOST_SUSPECTS])
    obstacle = _obstacle(found)
    path = found.amplifier.path
    return FitSection(
        explained=found.explained,
        sentence=chi_square_words(found),
        first_suspect=suspects[0] if suspects and suspects[0].explains else None,
        suspects=suspects,
        obstacle=obstacle,
        figure=None if obstacle else limits_figure(found.unknowns, "fit-limits"),
        inseparable=tuple(inseparable_words(pair) for pair in found.inseparable),
        verdict=counts_moved(found),
        moved=tuple(
            MovedRow(place_of(was), finding_title(was), _sureness(was), _sureness(now))
            for was, now in moved(found)
        ),
        afterwards=AFTERWARDS,
        measure_next=measure_next(found),
        diff=difference(found.amplifier.text, found.text, file_name(path)) if found.diff else "",
        fitted_file=amplifier_download("Amplifier file after the fit (TOML)", path, "-fitted", found.text)
        if found.diff
        else None,
    )


def _obstacle(found: Fit) -> str:
    if not found.unknowns:
        return NO_LIMITS
    return "" if found.explained else NOT_EXPLAINED


def _sureness(finding: Finding | None) -> Sureness:
    if finding is None:
        return Sureness("", "gone", NOTHING, "", Markup(""))
    used = percent(finding.used_fraction)
    words = f"{MARKS[finding.state]} {WORDS[finding.state]}"
    if finding.unsure:
        words += f" {UNSURE_MARK} {UNSURE}"
    spoken = f"{finding_title(finding)}, {place_of(finding)}: {words}, {used} used"
    return Sureness(
        finding.state,
        words,
        used,
        used_range(finding),
        used_bar(finding.used_fraction, finding.state, spoken, whisker_of(finding)),
    )
