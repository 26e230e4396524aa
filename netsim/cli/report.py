"""``netsim report``: the page."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from netsim.cli.excerpt import shown_name
from netsim.cli.options import announce, debug_option, engine_option, file_argument, swr_option

if TYPE_CHECKING:
    from netsim.analysis import Engine

FOLDER = Path("reports")


@click.command("report", short_help="Write the report on FILE as one page.")
@file_argument
@click.option(
    "-o", "--output", metavar="PATH", help="Where to; reports/NAME.html by default, - is standard output."
)
@swr_option
@engine_option
@debug_option
def command(file: str, output: str | None, swr: float | None, engine: "Engine") -> int:
    """Write the report on FILE as one page that needs no network."""
    from netsim.api import analyse, page_of
    from netsim.cli.console import doing, write_utf8
    from netsim.description.reader import read
    from netsim.errors import NOTHING_OVER
    from netsim.output import demand_writable, write_text

    announce(engine)
    amplifier = read(file)
    target = FOLDER / f"{Path(file).stem}.html" if output is None else Path(output)
    if output is None:
        _make_folder()
    if output != "-":
        demand_writable(target, file)
    with doing("solving"):
        solved = analyse(amplifier, engine=engine, swr=swr)
    with doing("searching taps and the smallest change, drawing the page"):
        text = page_of(solved.analysis)
    if output == "-":
        write_utf8(text)
        return NOTHING_OVER
    write_text(target, text)
    told = ", ".join(f"{count} {state.replace('_', ' ')}" for state, count in solved.counts.items())
    click.echo(f"{told}.\nWrote {shown_name(target)}; next: open it in a browser.", err=True)
    return NOTHING_OVER


def _make_folder() -> None:
    """Make the default folder where it is missing; where that fails, what follows says so."""
    import contextlib

    with contextlib.suppress(OSError):
        FOLDER.mkdir(exist_ok=True)
