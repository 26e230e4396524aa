"""The result in 80 columns: whether the bands match, what fails by part and cause, what it rests on."""

import shlex
from collections.abc import Iterator, Mapping, Sequence

from rich import box
from rich.console import Group as Lines
from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.description.formatting import format_quantity, percent
from netsim.report.code_reference import CodeEntry
from netsim.report.finding_groups import Group as Findings
from netsim.report.finding_groups import by_part, cause_of, groups
from netsim.report.known_words import UNSURE_MARK, measure_words, sampled_words, sureness_words
from netsim.report.notation import CAUTION, case_of, doubts, finding_title, limit_of, value_of
from netsim.report.terminal.tables import BAND_COLUMNS, indented, unchecked
from netsim.verdict.result import BandResult, Finding, Point, State, Verdict

_HEADINGS: dict[State, tuple[str, str]] = {
    "over": ("OVER", "bold red"),
    "close": ("CLOSE", "yellow"),
    "not_rated": ("NOT RATED", "cyan"),
}


def render(
    verdict: Verdict, file: str, tube_and_antenna: Sequence[RenderableType] = (), *, everything: bool = True
) -> RenderableType:
    """Lay out a result for a console of 80 columns; texts of the file are never read as markup.

    `file` is named in the commands that are worth running next; `everything` tells reasons, first remedies of what is
    only close, and all that was assumed, too.
    """
    judged = groups(verdict, ("over", "close"))
    return Lines(
        *_head(verdict),
        *_bands(verdict),
        *(part for state in ("over", "close") for part in _findings(judged, state, everything=everything)),
        *_unsure_passes(verdict, everything=everything),
        *_not_rated(verdict, everything=everything),
        *tube_and_antenna,
        *_asked(verdict),
        *_assumed(verdict, everything=everything),
        *_basis(verdict),
        *_next(verdict, file, everything=everything),
    )


def render_code(code: str, explanation: CodeEntry) -> RenderableType:
    """Lay out what a code means and what to do about it."""
    remedies = Table.grid(padding=(0, 1))
    for number, remedy in enumerate(explanation.remedies, start=1):
        remedies.add_row(f"  {number}.", Text(remedy))
    follow = "netsim check FILE" if explanation.kind == "error" else "netsim report FILE"
    return Lines(
        Text.assemble((code, "bold"), f" ({explanation.kind}): {explanation.heading}"),
        *(Padding(Text(paragraph), (1, 0, 0, 0)) for paragraph in explanation.meaning),
        Text("\nWhat to do", "bold"),
        remedies,
        Text(f"\nNext: {follow}"),
    )


def render_codes(known: Mapping[str, CodeEntry]) -> RenderableType:
    """Lay out all codes with their headings."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Code", no_wrap=True)
    table.add_column("What it is about")
    for code, explanation in known.items():
        table.add_row(code, Text(explanation.heading))
    return Lines(table, Text("Next: netsim explain CODE"))


def _head(verdict: Verdict) -> Iterator[RenderableType]:
    points = sum(len(band.points) for band in verdict.bands)
    stage = verdict.stage
    yield Text(verdict.title, "bold")
    yield Text(
        f"{verdict.topology}; {_count(len(verdict.bands), 'band')}, {_count(points, 'frequency')}; plate load "
        f"{format_quantity(stage.plate_load_ohm, 'ohm')}; {format_quantity(stage.dc_input_watt, 'W')} DC input"
    )
    counts = verdict.counts
    over = counts["over"]
    headline = "Ratings or limits are exceeded" if over else "Nothing that is rated is exceeded"
    yield Text.assemble(
        "\n",
        (headline, "bold red" if over else "bold"),
        f": {over} over, {counts['close']} close, {counts['not_rated']} not rated, {counts['pass']} pass.",
    )
    if counts["unsure"]:
        yield Text(
            f"{counts['unsure']} of them unsure within the limits of what is known. To be sure, measure: "
            f"{measure_words(verdict)}."
        )
    yield from unchecked(verdict.cross_checked)
    for note in doubts(verdict):
        yield Text(f"ROUGH CURVES: line {note.line}: {note.message}.", "bold yellow")


def _findings(judged: Sequence[Findings], state: State, *, everything: bool) -> Iterator[RenderableType]:
    """One row for each part and cause: the worst in full, the other bands in a line."""
    found = [group for group in judged if group.worst.state == state]
    if not found:
        return
    table = _finding_table(state, [group.worst for group in found])
    told_before: dict[str, str] = {}
    for group in found:
        worst = group.worst
        told = worst.message if everything else _shortly(worst)
        lines = [Text(told + _at(worst), "red" if state == "over" else "")]
        if everything:
            lines.append(Text(f"why: {worst.why}", "dim"))
        if worst.fix and (everything or state == "over"):
            edits = str(worst.remedies[0].edits) if worst.remedies else worst.fix
            before = told_before.setdefault(edits, finding_title(worst))
            known = before != finding_title(worst) and not everything
            lines.append(Text(f"fix: as for {before.lower()}" if known else f"fix: {worst.fix}"))
        if (everything or worst.unsure) and (words := sureness_words(worst)):
            lines.append(Text(f"range: {words}"))
        if group.others:
            mixed = len({finding.case for _, finding in group.findings}) > 1
            also = (_briefly(other, mixed=mixed) for _, other in group.others)
            lines.append(Text(f"also: {', '.join(also)}"))
        table.add_row(Text(worst.band or "all"), _used(worst), Lines(*lines))
    yield table


def _shortly(finding: Finding) -> str:
    """Name a finding with its value and limit; its message is for those who want all."""
    where = "" if finding.frequency_hertz is None else f" at {format_quantity(finding.frequency_hertz, 'Hz')}"
    limit = limit_of(finding)
    value = "" if finding.value is None else f": {value_of(finding)}{where}"
    return f"{finding_title(finding)}{value}{f', {limit}' if limit else ''}"


def _finding_table(state: State, findings: Sequence[Finding]) -> Table:
    heading, style = _HEADINGS[state]
    table = Table(box=None, pad_edge=False, expand=True)
    table.add_column(Text(f"\n{heading}", style), no_wrap=True, max_width=BAND_COLUMNS, overflow="ellipsis")
    table.add_column("used" if any(_used(f) for f in findings) else "", justify="right", no_wrap=True)
    table.add_column("finding", ratio=1)
    return table


def _briefly(finding: Finding, *, mixed: bool) -> str:
    """Write one of the other findings of a group: band, used fraction, and what else differs."""
    case = f" {case_of(finding) or 'matched'}" if mixed else ""
    return f"{finding.band or 'all'} {_used(finding)}".rstrip() + case + _at(finding)


def _not_rated(verdict: Verdict, *, everything: bool) -> Iterator[RenderableType]:
    found = [finding for finding in verdict.findings if finding.state == "not_rated"]
    if not found:
        return
    if everything:
        table = _finding_table("not_rated", found)
        for finding in found:
            lines = [finding.message + _at(finding), f"why: {finding.why}", f"fix: {finding.fix}"]
            table.add_row(Text(finding.band or "all"), "", Lines(*(Text(line) for line in lines)))
        yield table
        return
    missing = "; ".join(
        f"{part.label.lower()}{f' ({causes})' if (causes := ', '.join(map(cause_of, part.groups))) else ''}"
        for part in by_part(groups(verdict, ("not_rated",)))
    )
    yield Text.assemble(("NOT RATED", _HEADINGS["not_rated"][1]), f": {missing}.")


def _unsure_passes(verdict: Verdict, *, everything: bool) -> Iterator[RenderableType]:
    """List what passes as it stands and is unsure within the limits."""
    found = [finding for finding in verdict.findings if finding.state == "pass" and finding.unsure]
    if not found:
        return
    if not everything:
        named = dict.fromkeys(f"{finding_title(finding).lower()}" for finding in found)
        yield Text.assemble((f"{UNSURE_MARK} PASS, BUT UNSURE", "bold"), f": {'; '.join(named)}.")
        return
    yield Text(f"{UNSURE_MARK} PASS, BUT UNSURE within the limits of what is known", "bold")
    for finding in found:
        place = finding.band or "all"
        yield indented(f"{place}{_at(finding)}: {finding.message}\n  {sureness_words(finding)}")


def _at(finding: Finding) -> str:
    """Say at which operating point; nothing for the stage as it stands in the file."""
    return "" if finding.operating_point is None else f" (at {finding.operating_point})"


def _used(finding: Finding) -> str:
    used = finding.used_fraction
    if used is None:
        return ""
    shown = percent(used, "")
    return f"{shown}{UNSURE_MARK}" if finding.unsure else shown


def _bands(verdict: Verdict) -> Iterator[RenderableType]:
    yield _table(verdict.bands)
    for point in verdict.operating_points:
        yield Text(
            f"At {point.name}, plate load {format_quantity(point.stage.plate_load_ohm, 'ohm')}:", "bold"
        )
        yield _table(point.bands)
    every = [*verdict.bands, *(band for point in verdict.operating_points for band in point.bands)]
    if not all(point.tuned for band in every for point in band.points):
        yield Text("* no match within the capacitors' ranges; as set, or peaked for most output")


def _table(bands: Sequence[BandResult]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("\nBand", no_wrap=True, max_width=BAND_COLUMNS, overflow="ellipsis")
    for heading in ("MHz", "match", "loaded Q", "tune", "load", "output", "plate heat", "harmonic"):
        heading = heading.replace(" ", "\n") if " " in heading else f"\n{heading}"
        table.add_column(heading, justify="right", no_wrap=True)
    for band in bands:
        for row in _band_rows(band):
            table.add_row(*row)
    return table


def _band_rows(band: BandResult) -> Iterator[tuple[Text | str, ...]]:
    name = band.name
    for point in band.points:
        worst = _worst_level(point)
        yield (
            Text(name),
            f"{point.frequency_hertz / 1e6:.6g}",
            "yes" if point.tuned else "no*",
            f"{point.loaded_q:.1f}",
            format_quantity(point.tune_farad, "F"),
            format_quantity(point.load_farad, "F"),
            format_quantity(point.output_watt, "W"),
            format_quantity(point.plate_dissipation_watt, "W"),
            format_quantity(worst, "dB") if worst is None else f"{worst:.1f} dBc",
        )
        name = ""


def _worst_level(point: Point) -> float | None:
    levels = [h.level_dbc for h in point.harmonics if h.level_dbc is not None]
    return max(levels, default=None)


def _asked(verdict: Verdict) -> Iterator[RenderableType]:
    """List what asks to be looked at again: always all of it, because nothing else tells."""
    if verdict.notes:
        yield Text("\nTo look at again:", "bold")
    for note in verdict.notes:
        where = "" if note.line is None else f"line {note.line}: "
        yield indented(f"{where}{note.message}")


def _assumed(verdict: Verdict, *, everything: bool) -> Iterator[RenderableType]:
    number = len(verdict.assumptions)
    if not number:
        return
    if not everything:
        parts = dict.fromkeys(assumption.part.replace("_", " ") for assumption in verdict.assumptions)
        yield Text(
            f"\nAssumed, because the file does not say: {_count(number, 'value')} of {', '.join(parts)}."
        )
        return
    yield Text("\nAssumed, because the file does not say:", "bold")
    for assumption in verdict.assumptions:
        key = "" if assumption.key == assumption.part else f", {assumption.key.replace('_', ' ')}"
        yield indented(f"{assumption.part.replace('_', ' ')}{key}: {assumption.assumed}")


def _basis(verdict: Verdict) -> Iterator[RenderableType]:
    apart = [p.agreement.worst_relative for band in verdict.bands for p in band.points]
    known = [worst for worst in apart if worst is not None]
    if known:
        provenance = verdict.provenance
        yield Text(
            f"ngspice {provenance.ngspice} and scikit-rf {provenance.scikit_rf} agree to {max(known):.0e} "
            "at every node and branch."
        )
    else:
        yield from unchecked(False, "\n")
    if words := sampled_words(verdict.known):
        yield Text(f"Sampled: {words}.")
    yield Text(CAUTION)


def _next(verdict: Verdict, file: str, *, everything: bool) -> Iterator[RenderableType]:
    name = shlex.quote(file)
    commands = [] if everything else [f"netsim check {name} --all   (reasons, all figures)"]
    commands += [f"netsim explain {f.code}" for f in verdict.findings[:1] if f.state == "over"]
    commands.append(f"netsim report {name}")
    yield Text("\nNext: " + "\n      ".join(commands))


def _count(number: int, noun: str) -> str:
    plural = "frequencies" if noun == "frequency" else f"{noun}s"
    return f"{number} {noun if number == 1 else plural}"
