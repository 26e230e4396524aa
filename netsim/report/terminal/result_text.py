"""The result in 80 columns: what fails first, then the bands, then what it rests on."""

import shlex
from collections.abc import Iterator, Mapping, Sequence

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.description.formatting import format_quantity
from netsim.report.explanations import Explanation
from netsim.report.known_words import UNSURE_MARK, measure_words, sampled_words, sureness_words
from netsim.verdict.result import BandResult, Finding, Point, State, Verdict

_HEADINGS: dict[State, tuple[str, str]] = {
    "over": ("OVER", "bold red"),
    "close": ("CLOSE", "yellow"),
    "not_rated": ("NOT RATED", "cyan"),
}
_BAND_COLUMNS = 9
UNCHECKED = "NOT CROSS-CHECKED: solved by two-port analysis alone, without ngspice."


def render(verdict: Verdict, file: str, full_output: Sequence[RenderableType] = ()) -> RenderableType:
    """Lay out a result for a terminal.

    Parameters
    ----------
    verdict : Verdict
        What came out.
    file : str
        The amplifier file as the user named it, for the commands that are worth running next.
    full_output : sequence of rich renderable
        What the tube and other antennas add.

    Returns
    -------
    rich renderable
        For a console of 80 columns. Texts of the file are never read as markup.
    """
    return Group(
        *_head(verdict),
        *(part for state in _HEADINGS for part in _findings(verdict, state)),
        *_unsure_passes(verdict),
        *_bands(verdict),
        *full_output,
        *_assumed(verdict),
        *_basis(verdict),
        *_next(verdict, file),
    )


def render_explanation(code: str, explanation: Explanation) -> RenderableType:
    """Lay out what a code means and what to do about it."""
    remedies = Table.grid(padding=(0, 1))
    for number, remedy in enumerate(explanation.remedies, start=1):
        remedies.add_row(f"  {number}.", Text(remedy))
    follow = "netsim check FILE" if explanation.kind == "error" else "netsim report FILE"
    return Group(
        Text.assemble((code, "bold"), f" ({explanation.kind}): {explanation.heading}"),
        *(Padding(Text(paragraph), (1, 0, 0, 0)) for paragraph in explanation.meaning),
        Text("\nWhat to do", "bold"),
        remedies,
        Text(f"\nNext: {follow}"),
    )


def render_codes(known: Mapping[str, Explanation]) -> RenderableType:
    """Lay out all codes with their headings."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Code", no_wrap=True)
    table.add_column("What it is about")
    for code, explanation in known.items():
        table.add_row(code, Text(explanation.heading))
    return Group(table, Text("Next: netsim explain CODE"))


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
    headline = "Ratings or limits are exceeded" if over else "No rating or limit given is exceeded"
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
    if not verdict.cross_checked:
        yield Text(UNCHECKED, "bold yellow")


def _findings(verdict: Verdict, state: State) -> Iterator[RenderableType]:
    """One row for each kind of finding: the worst in full, the other bands in a line."""
    found = [finding for finding in verdict.findings if finding.state == state]
    if not found:
        return
    heading, style = _HEADINGS[state]
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_header=True, expand=True)
    table.add_column(Text(heading, style), no_wrap=True, width=_BAND_COLUMNS, overflow="ellipsis")
    table.add_column("used", justify="right", no_wrap=True, width=7)
    table.add_column("finding", ratio=1)
    for worst, *others in _grouped(found):
        lines = [Text(worst.message + _at(worst), style if state == "over" else "")]
        lines.append(Text(f"why: {worst.why}", "dim"))
        if worst.fix:
            lines.append(Text(f"fix: {worst.fix}"))
        if words := sureness_words(worst):
            lines.append(Text(f"range: {words}"))
        if others:
            also = ", ".join(
                f"{other.band or 'all'} {_used(other)}".rstrip() + _at(other) for other in others
            )
            lines.append(Text(f"also: {also}"))
        table.add_row(Text(worst.band or "all"), _used(worst), Group(*lines))
    yield table


def _unsure_passes(verdict: Verdict) -> Iterator[RenderableType]:
    """List what passes as it stands and is unsure within the limits."""
    found = [finding for finding in verdict.findings if finding.state == "pass" and finding.unsure]
    if not found:
        return
    yield Text(f"{UNSURE_MARK} PASS, BUT UNSURE within the limits of what is known", "bold")
    for finding in found:
        place = finding.band or "all"
        yield Padding(
            Text(f"{place}{_at(finding)}: {finding.message}\n  {sureness_words(finding)}"), (0, 0, 0, 2)
        )


def _at(finding: Finding) -> str:
    """Say at which operating point; nothing for the stage as it stands in the file."""
    return "" if finding.operating_point is None else f" (at {finding.operating_point})"


def _grouped(findings: list[Finding]) -> list[list[Finding]]:
    """Put the bands of one kind of finding together, worst first; groups by their worst."""
    groups: dict[tuple[str, str, str, str], list[Finding]] = {}
    for finding in findings:
        key = (finding.code, finding.part, finding.quantity, finding.case)
        groups.setdefault(key, []).append(finding)
    return list(groups.values())


def _used(finding: Finding) -> str:
    used = finding.used_fraction
    if used is None:
        return ""
    shown = f"{used:.0%}" if used < 100 else ">9999%"
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
        yield Text("* no match within the capacitors' ranges; as it stands, or peaked for most output")


def _table(bands: Sequence[BandResult]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("Band", no_wrap=True, max_width=_BAND_COLUMNS, overflow="ellipsis")
    for heading in ("MHz", "tune", "load", "loaded Q", "output", "plate heat", "worst harm."):
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
            f"{point.frequency_hertz / 1e6:.6g}{' ' if point.tuned else '*'}",
            format_quantity(point.tune_farad, "F"),
            format_quantity(point.load_farad, "F"),
            f"{point.loaded_q:.1f}",
            format_quantity(point.output_watt, "W"),
            format_quantity(point.plate_dissipation_watt, "W"),
            format_quantity(worst, "dB") if worst is None else f"{worst:.1f} dBc",
        )
        name = ""


def _worst_level(point: Point) -> float | None:
    levels = [h.level_dbc for h in point.harmonics if h.level_dbc is not None]
    return max(levels, default=None)


def _assumed(verdict: Verdict) -> Iterator[RenderableType]:
    if not verdict.assumptions:
        return
    yield Text("\nAssumed, because the file does not say:", "bold")
    for assumption in verdict.assumptions:
        key = "" if assumption.key == assumption.part else f", {assumption.key.replace('_', ' ')}"
        yield Padding(Text(f"{assumption.part.replace('_', ' ')}{key}: {assumption.assumed}"), (0, 0, 0, 2))


def _basis(verdict: Verdict) -> Iterator[RenderableType]:
    apart = [p.agreement.worst_relative for band in verdict.bands for p in band.points]
    known = [worst for worst in apart if worst is not None]
    if known:
        provenance = verdict.provenance
        yield Text(
            f"\nngspice {provenance.ngspice} and scikit-rf {provenance.scikit_rf} agree to {max(known):.0e} "
            "at every node and branch."
        )
    else:
        yield Text(f"\n{UNCHECKED}", "bold yellow")
    if words := sampled_words(verdict.known):
        yield Text(f"Sampled: {words}.")
    yield Text("A model's figures: they say which ratings given are exceeded, not that it may be touched.")


def _next(verdict: Verdict, file: str) -> Iterator[RenderableType]:
    name = shlex.quote(file)
    failing = [finding.code for finding in verdict.findings if finding.state == "over"]
    if failing:
        yield Text(f"\nNext: netsim explain {failing[0]}\n      netsim report {name}")
    else:
        yield Text(f"\nNext: netsim report {name}")


def _count(number: int, noun: str) -> str:
    plural = "frequencies" if noun == "frequency" else f"{noun}s"
    return f"{number} {noun if number == 1 else plural}"
