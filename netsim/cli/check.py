"""``netsim check``: solve, judge, print."""

import sys
from typing import TYPE_CHECKING

import click

from netsim.cli.completion import complete_band
from netsim.cli.options import (
    RunOptions,
    announce,
    debug_option,
    engine_option,
    file_argument,
    json_option,
    samples_option,
    swr_option,
)
from netsim.errors import NOTHING_OVER, SOMETHING_OVER

if TYPE_CHECKING:
    from netsim.analysis import Engine


@click.command("check", short_help="Print what is past its rating, worst first.")
@file_argument
@click.option("--band", metavar="NAME", shell_complete=complete_band, help="Only this band.")
@click.option("--all", "everything", is_flag=True, help="Also reasons, all assumptions, the tube's figures.")
@swr_option
@samples_option
@json_option
@engine_option
@debug_option
@click.pass_obj
def command(
    options: RunOptions,
    file: str,
    band: str | None,
    swr: float | None,
    samples: int,
    engine: "Engine",
    *,
    everything: bool,
) -> int:
    """Solve every band of FILE and print what is past its rating, worst first.

    Exit status 1 if anything is.
    """
    from netsim.advice.remedies import with_remedies
    from netsim.analysis import analyse
    from netsim.cli.console import doing
    from netsim.description.reader import read

    announce(engine)
    amplifier = read(file)
    with doing("solving"):
        solved = with_remedies(analyse(amplifier, band=band, engine=engine, swr=swr, samples=samples))
    verdict = solved.verdict
    if options.as_json:
        from netsim.report.export import json_text

        sys.stdout.write(json_text.dump(verdict))
    else:
        from netsim.cli.console import paper
        from netsim.report.terminal import box_text, tube_and_antenna_text
        from netsim.report.terminal import result_text as terminal

        more = (*tube_and_antenna_text.render(solved), *box_text.render(verdict.box)) if everything else ()
        paper(sys.stdout).print(terminal.render(verdict, file, more, everything=everything))
    return SOMETHING_OVER if verdict.counts["over"] else NOTHING_OVER
