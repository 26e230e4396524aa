"""A fit for the terminal: what is known now, what the verdict was and is, what may be wrong; the diff follows."""

import shlex
from collections.abc import Iterator

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.advice.fit.fit import Fit, Unknown, changes
from netsim.advice.fit.next_reading import NextReading
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.known_words import UNSURE_MARK, used_range
from netsim.report.terminal.bench_text import with_range
from netsim.report.terminal.result_text import UNCHECKED
from netsim.verdict.result import Finding

_MOST_SUSPECTS = 8


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
    words = "The readings are explained" if found.explained else "The readings are not explained"
    yield Text.assemble(
        (words, "bold" if found.explained else "bold red"),
        f" within the limits: chi-square {found.chi_square:.1f} of {found.degrees} numbers read.",
    )
    if not found.explained:
        yield Text(
            "Chance alone exceeds that less than once in a hundred cases. Nothing is adopted; the file stays as it is."
        )
    if not found.before.verdict.cross_checked:
        yield Text(UNCHECKED, "bold yellow")


def _readings(found: Fit) -> Iterator[RenderableType]:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for heading in ("line", "reading", "band", "best fit", "read", "E_n"):
        words = heading in ("reading", "band")
        table.add_column(heading, justify="left" if words else "right", no_wrap=heading != "reading")
    for reading in found.readings:
        entry = reading.compared
        table.add_row(
            str(entry.line),
            Text(entry.what if entry.kind in ("impedance", entry.what) else f"{entry.what}, {entry.kind}"),
            Text(entry.band or NOTHING),
            with_range(entry.computed, entry.computed_half_width, entry.unit),
            with_range(entry.measured, entry.measured_half_width, entry.unit),
            Text(f"{entry.en:.2f}", "bold red" if entry.en > 1 or reading.contradicts else ""),
        )
    yield table
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
    for suspect in found.suspects[:_MOST_SUSPECTS]:
        table.add_row(
            Text(f"{suspect.words} ({suspect.fault})"),
            str(suspect.line or NOTHING),
            f"{suspect.chi_square:.1f}",
            "yes" if suspect.explains else "no",
        )
    yield table


def _unknowns(found: Fit) -> Iterator[RenderableType]:
    if not found.unknowns:
        yield Text(
            "Nothing in the file has limits, so there is nothing to fit: write some, such as 320 pF +- 5 %."
        )
        return
    adopted = "" if found.explained else ", not adopted"
    yield Text(f"Unknowns: before, and after with their 95 % limits{adopted}:", "bold")
    for unknown in found.unknowns:
        told = ("told apart", "bold") if unknown.told_apart else "not told apart"
        before = _limits(unknown, (unknown.nominal, unknown.low, unknown.high))
        after = _limits(unknown, (unknown.fitted, unknown.fitted_low, unknown.fitted_high))
        yield Text(f"  {unknown.key} (line {unknown.line}, {unknown.source})")
        yield Text.assemble(f"    {before} > {after}, ", told)


def _limits(unknown: Unknown, figures: tuple[float, float, float]) -> str:
    value, low, high = (format_quantity(figure, unknown.unit, trim=True) for figure in figures)
    return f"{value} ({low} to {high})"


def _inseparable(found: Fit) -> Iterator[RenderableType]:
    for pair in found.inseparable:
        helps = "no single reading would" if pair.reading is None else f"{reading_words(pair.reading)} would"
        yield Text(
            f"Cannot be told apart: {pair.one} and {pair.other} (correlation {pair.correlation:+.2f}); {helps}."
        )


def _changes(found: Fit) -> Iterator[RenderableType]:
    if found.after is None:
        return
    before, after = found.before.verdict.counts, found.after.verdict.counts
    yield Text(
        f"\nThe verdict: {before['over']} over, {before['close']} close and {before['unsure']} unsure become "
        f"{after['over']} over, {after['close']} close and {after['unsure']} unsure.",
        "bold",
    )
    table = Table(box=None, pad_edge=False, show_header=False)
    for _ in range(2):
        table.add_column(no_wrap=True)
    table.add_column(ratio=1)
    for was, now in changes(found):
        if was.state == "not_rated" or _alike(was, now):
            continue
        point = "" if was.operating_point is None else f" ({was.operating_point})"
        name = f"{was.band or 'all'}{point} {was.part.replace('_', ' ')} {was.quantity.replace('_', ' ')}"
        case = "" if was.case == "matched" else f", {was.case.replace('_', ' ')}"
        table.add_row(_sure(was), f"> {_sure(now)}", Text(f"{name}{case}: {_used(was)} > {_used(now)}"))
    yield Padding(table, (0, 0, 0, 2))


def _alike(was: Finding, now: Finding | None) -> bool:
    return now is not None and was.state == now.state and was.unsure == now.unsure


def _sure(finding: Finding | None) -> str:
    if finding is None:
        return "gone"
    return f"{finding.state}{f' {UNSURE_MARK} unsure' if finding.unsure else ''}"


def _used(finding: Finding | None) -> str:
    if finding is None or finding.used_fraction is None:
        return NOTHING
    words = used_range(finding)
    return f"{percent(finding.used_fraction)}{f' ({words})' if words else ''}"


def reading_words(reading: NextReading) -> str:
    """Name a reading that could be made."""
    if reading.what == "cold match":
        hertz = format_quantity(reading.frequency_hertz, "Hz")
        return f"a cold match on {reading.band} at {hertz}"
    if reading.what == "inductance":
        name = "output coil" if reading.coil == "output_coil" else "coil"
        return f"the inductance of the {name} to its tap at {reading.turns:g} turns"
    assert reading.part is not None
    return f"the capacitance of the {reading.part.replace('_', ' ')} at dial {reading.dial:g}"


def _next(found: Fit, file: str) -> Iterator[RenderableType]:
    if found.measure_next is not None:
        settles = found.measure_next.settles
        yield Text(
            f"\nMeasure next: {reading_words(found.measure_next)}; it settles {settles:.1f} of the unsure findings "
            "in the mean."
        )
    name = shlex.quote(file)
    what = f"fit {name} --write NEW.toml" if found.diff else f"bench {name}"
    yield Text(f"\nNext: netsim {what}\n")
