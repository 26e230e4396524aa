"""``netsim export``: a band for other programs."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from netsim.cli.completion import complete_band
from netsim.cli.options import announce, debug_option, engine_option, file_argument, quantity_of
from netsim.report.terminal.excerpt import argument

if TYPE_CHECKING:
    from netsim.analysis import Analysis, Engine
    from netsim.verdict.result import BandResult

_NEXT = {
    "netlist": "ngspice -b {path}",
    "touchstone": "read it with anything that takes .s2p files",
    "csv": "read it with a spreadsheet or with pandas",
    "json": "python -m json.tool {path}",
}


@click.command("export", short_help="Write one band for other programs.")
@file_argument
@click.option("--band", metavar="NAME", required=True, shell_complete=complete_band, help="Which band.")
@click.option(
    "--frequency",
    metavar="F",
    help='One of its frequencies, such as "14.1 MHz". Otherwise the first; for csv and json, all.',
)
@click.option(
    "--format",
    "form",
    type=click.Choice(list(_NEXT)),
    required=True,
    help="What to write.",
    show_choices=True,
)
@click.option("-o", "--output", metavar="PATH", default="-", help="Where to; standard output by default.")
@engine_option
@debug_option
def command(file: str, band: str, frequency: str | None, form: str, output: str, engine: "Engine") -> int:
    """Write one band of FILE as a SPICE netlist, Touchstone file, table or JSON."""
    from netsim.analysis import SAMPLES, analyse
    from netsim.cli.console import deliver, doing
    from netsim.description.reader import read
    from netsim.errors import NOTHING_OVER
    from netsim.output import demand_writable

    announce(engine)
    amplifier = read(file)
    hertz = quantity_of(frequency, "Hz", "--frequency")
    if output != "-":
        demand_writable(Path(output), file)
    with doing("solving"):
        walked = analyse(amplifier, band=band, engine=engine, samples=SAMPLES if form == "json" else 1)
        if form == "json":
            from netsim.advice.remedies import with_remedies

            walked = with_remedies(walked)
    row = walked.row(band, hertz)
    text = _rendering(form)(walked if hertz is None else _narrowed(walked, row), row)
    deliver(text, output, f"; next: {_NEXT[form].format(path=argument(output))}")
    return NOTHING_OVER


def _rendering(form: str) -> "Callable[[Analysis, int], str]":
    """Pick the writer of a format; only that one is imported."""
    match form:
        case "netlist":
            from netsim.report.export import netlist_text

            return netlist_text.dump
        case "touchstone":
            from netsim.report.export import touchstone

            return touchstone.dump
        case "csv":
            from netsim.report.export import csv_text as table_csv

            return lambda walked, _: table_csv.dump(walked)
    from netsim.report.export import json_text

    return lambda walked, _: json_text.dump(walked.verdict)


def _narrowed(walked: "Analysis", row: int) -> "Analysis":
    """Leave one point in the result; findings are the band's and stay."""
    frequency = float(walked.solved.frequency[row])

    def kept(bands: "tuple[BandResult, ...]") -> "tuple[BandResult, ...]":
        return tuple(
            replace(band, points=tuple(p for p in band.points if p.frequency_hertz == frequency))
            for band in bands
        )

    others = tuple(replace(point, bands=kept(point.bands)) for point in walked.verdict.operating_points)
    verdict = replace(walked.verdict, bands=kept(walked.verdict.bands), operating_points=others)
    return replace(walked, verdict=verdict)
