"""``netsim compare``: two amplifiers, or two topologies, side by side."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from netsim.cli.options import RunOptions, announce, solving
from netsim.errors import NOTHING_OVER

if TYPE_CHECKING:
    from netsim.advice.comparison import Comparison
    from netsim.analysis import Engine


@click.command("compare", short_help="Put two amplifiers or topologies side by side.")
@click.argument("files", nargs=-1, type=click.Path(), required=True, metavar="FILE [OTHER]")
@click.option(
    "--topology",
    "topologies",
    nargs=2,
    metavar="FIRST SECOND",
    help="One FILE as two topologies, such as pi pi-L; what is missing is designed.",
)
@click.option(
    "-o", "--output", metavar="PATH", help="Write a page there instead of tables; - is standard output."
)
@solving
def command(
    options: RunOptions,
    files: tuple[str, ...],
    topologies: tuple[str, str] | None,
    output: str | None,
    engine: "Engine",
) -> int:
    """Put two amplifiers side by side: what the second gains and what it loses, band by band."""
    from netsim.advice.comparison import compare, compare_topologies
    from netsim.cli.console import doing, hand_over
    from netsim.description.reader import read
    from netsim.output import demand_writable
    from netsim.report.export import advice_json
    from netsim.report.terminal import comparison_text

    if len(files) != (1 if topologies else 2):
        raise click.UsageError("two files are compared, or one file with --topology FIRST SECOND")
    if output == "-" and options.as_json:
        raise click.UsageError(
            "standard output takes the page or the JSON: give -o a file, or leave --json out"
        )
    announce(engine)
    if output not in (None, "-"):
        for file in files:
            demand_writable(Path(output), file)
    descriptions = [read(file) for file in files]
    with doing("comparing"):
        if topologies:
            found = compare_topologies(descriptions[0], *topologies, engine=engine)
        else:
            found = compare(*descriptions, engine=engine)
    if output is not None:
        with doing("drawing the page"):
            _write_page(found, output)
    if options.as_json or output is None:
        hand_over(options, lambda: advice_json.dump_comparison(found), lambda: comparison_text.render(found))
    return NOTHING_OVER


def _write_page(found: "Comparison", output: str) -> None:
    """Draw the page and put it where it is wanted."""
    from netsim.advice.coverage import load_maps
    from netsim.cli.console import deliver
    from netsim.report.page import comparison_page

    names = [band.name for band in found.bands]
    first, second = (load_maps(walked.amplifier, names) for walked in found.results)
    deliver(comparison_page.render(found, (first, second)), output, "; next: open it in a browser.")
