"""A fit for the terminal: what is known now, what the verdict was and is, what may be wrong; the diff follows."""

import shlex
from collections.abc import Iterator

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from netsim.advice.fit.fit import Fit, moved
from netsim.description.formatting import NOTHING, percent
from netsim.report.bench_words import (
    AFTERWARDS,
    MOST_SUSPECTS,
    NO_LIMITS,
    NOT_EXPLAINED,
    chi_square_words,
    counts_moved,
    inseparable_words,
    limits_after,
    limits_before,
    measure_next,
    told_apart,
)
from netsim.report.known_words import UNSURE_MARK, used_range
from netsim.report.terminal.bench_text import readings_table
from netsim.report.terminal.tables import indented, unchecked
from netsim.verdict.result import Finding


def render(found: Fit, file: str) -> RenderableType:
    """Lay out a fit for a console of 80 columns; texts of the file are never read as markup."""
    return Group(
        *_head(found),
        *_readings(found),
        *_suspects(found),
        *_unknowns(found),
        *_inseparable(found),
        *_changes(found),
        *_next(found, file),
    )


def _head(found: Fit) -> Iterator[RenderableType]:
    yield Text(found.before.verdict.title, "bold")
    yield Text(chi_square_words(found), "bold" if found.explained else "bold red")
    if not found.explained:
        yield Text(NOT_EXPLAINED)
    yield from unchecked(found.before.verdict.cross_checked)


def _readings(found: Fit) -> Iterator[RenderableType]:
    rows = ((one.compared, one.compared.agrees and not one.contradicts) for one in found.readings)
    yield readings_table("best fit", rows)
    for reading in found.readings:
        if reading.contradicts:
            yield Text(
                f"Line {reading.compared.line}: this {reading.compared.what} contradicts the rest, by "
                f"{reading.off:.1f} standard deviations. It is kept: make it again.",
                "bold",
            )


def _suspects(found: Fit) -> Iterator[RenderableType]:
    if found.explained:
        return
    explaining = [suspect for suspect in found.suspects if suspect.explains]
    if explaining:
        yield Text("\nWhat may be wrong, the likeliest first; each alone, fitted again:", "bold")
    else:
        yield Text("\nNone of the usual faults alone explains the readings. The nearest:", "bold")
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("fault", ratio=1)
    table.add_column("line", justify="right")
    table.add_column("chi-square", justify="right")
    table.add_column("explains")
    for suspect in found.suspects[:MOST_SUSPECTS]:
        table.add_row(
            Text(f"{suspect.words} ({suspect.fault})"),
            str(suspect.line or NOTHING),
            f"{suspect.chi_square:.1f}",
            "yes" if suspect.explains else "no",
        )
    yield table


def _unknowns(found: Fit) -> Iterator[RenderableType]:
    if not found.unknowns:
        yield Text(NO_LIMITS)
        return
    adopted = "" if found.explained else ", not adopted"
    yield Text(f"Unknowns: before, and after with their 95 % limits{adopted}:", "bold")
    for unknown in found.unknowns:
        told = (told_apart(unknown), "bold" if unknown.told_apart else "")
        yield Text(f"  {unknown.key} (line {unknown.line}, {unknown.source})")
        yield Text.assemble(f"    {limits_before(unknown)} > {limits_after(unknown)}, ", told)


def _inseparable(found: Fit) -> Iterator[RenderableType]:
    for pair in found.inseparable:
        yield Text(f"Cannot be told apart from each other: {inseparable_words(pair)}.")


def _changes(found: Fit) -> Iterator[RenderableType]:
    if found.after is None:
        return
    yield Text(f"\nThe verdict: {counts_moved(found)}.", "bold")
    table = Table(box=None, pad_edge=False, show_header=False)
    for _ in range(2):
        table.add_column(no_wrap=True)
    table.add_column(ratio=1)
    for was, now in moved(found):
        point = "" if was.operating_point is None else f" ({was.operating_point})"
        name = f"{was.band or 'all'}{point} {was.part.replace('_', ' ')} {was.quantity.replace('_', ' ')}"
        case = "" if was.case == "matched" else f", {was.case.replace('_', ' ')}"
        table.add_row(_sure(was), f"> {_sure(now)}", Text(f"{name}{case}: {_used(was)} > {_used(now)}"))
    yield indented(table)
    yield Text(AFTERWARDS)


def _sure(finding: Finding | None) -> str:
    if finding is None:
        return "gone"
    return f"{finding.state}{f' {UNSURE_MARK} unsure' if finding.unsure else ''}"


def _used(finding: Finding | None) -> str:
    if finding is None or finding.used_fraction is None:
        return NOTHING
    words = used_range(finding)
    return f"{percent(finding.used_fraction)}{f' ({words})' if words else ''}"


def _next(found: Fit, file: str) -> Iterator[RenderableType]:
    if words := measure_next(found):
        yield Text(f"\nMeasure next: {words}.")
    name = shlex.quote(file)
    what = f"fit {name} --write NEW.toml" if found.diff else f"bench {name}"
    yield Text(f"\nNext: netsim {what}\n")
