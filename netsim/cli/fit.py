"""``netsim fit``: what the bench showed, turned into what is known."""

from typing import TYPE_CHECKING

import click

from netsim.cli.options import RunOptions, announce, file_argument, solving
from netsim.errors import NOTHING_OVER, SOMETHING_OVER

if TYPE_CHECKING:
    from netsim.analysis import Engine


@click.command("fit", short_help="Fit what is known to what the bench showed.")
@file_argument
@click.option("--write", "target", metavar="NEW", help="Also write the fitted file; FILE itself stays.")
@click.option("--force", is_flag=True, help="Let --write replace a file that is there.")
@solving
def command(options: RunOptions, file: str, target: str | None, force: bool, engine: "Engine") -> int:
    """Fit the quantities of FILE that have limits to its readings, and print what they make of it as a diff.

    Exit status 0 where the readings are explained; 1 where they are not: then usual faults are tried, each alone,
    and nothing is written.
    """
    from netsim.advice.fit.fit import fit
    from netsim.cli.console import doing, hand_over
    from netsim.cli.proposal import Destination
    from netsim.description.reader import read
    from netsim.report.export import bench_json
    from netsim.report.terminal import fit_text

    announce(engine)
    amplifier = read(file)
    destination = None if target is None else Destination.demanded(target, file, amplifier.text, force=force)
    with doing("fitting"):
        found = fit(amplifier, engine=engine)
    hand_over(options, lambda: bench_json.dump_fit(found), lambda: fit_text.render(found, file), found.diff)
    if destination is not None and found.explained:
        destination.write(found.text)
    elif destination is not None:
        click.echo("Nothing was written: the readings are not explained.", err=True)
    return NOTHING_OVER if found.explained else SOMETHING_OVER
