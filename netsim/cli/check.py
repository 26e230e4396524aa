"""``netsim check``: solve, judge, print."""

from typing import TYPE_CHECKING

import click

from netsim.cli.completion import complete_band
from netsim.cli.options import (
    RunOptions,
    announce,
    file_argument,
    samples_option,
    solving,
    swr_option,
)
from netsim.errors import NOTHING_OVER, SOMETHING_OVER

if TYPE_CHECKING:
    from rich.console import RenderableType

    from netsim.analysis import Engine


@click.command("check", short_help="Print what is past its rating, worst first.")
@file_argument
@click.option("--band", metavar="NAME", shell_complete=complete_band, help="Only this band.")
@click.option("--all", "everything", is_flag=True, help="Also reasons, all assumptions, the tube's figures.")
@swr_option
@samples_option
@solving
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
    from netsim.cli.console import doing, hand_over
    from netsim.description.reader import read
    from netsim.report.export import json_text

    announce(engine)
    amplifier = read(file)
    with doing("solving"):
        solved = with_remedies(analyse(amplifier, band=band, engine=engine, swr=swr, samples=samples))
    verdict = solved.verdict

    def as_text() -> "RenderableType":
        from netsim.report.terminal import box_text, result_text, tube_and_antenna_text

        more = (*tube_and_antenna_text.render(solved), *box_text.render(verdict.box)) if everything else ()
        return result_text.render(verdict, file, more, everything=everything)

    hand_over(options, lambda: json_text.dump(verdict), as_text)
    return SOMETHING_OVER if verdict.counts["over"] else NOTHING_OVER
