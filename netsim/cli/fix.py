"""``netsim fix``: the smallest change that clears what is over."""

from typing import TYPE_CHECKING

import click

from netsim.cli.options import RunOptions, announce, file_argument, solving
from netsim.errors import NOTHING_OVER

if TYPE_CHECKING:
    from netsim.analysis import Engine


@click.command("fix", short_help="Find the smallest change that clears what is over.")
@file_argument
@click.option("--write", "target", metavar="NEW", help="Also write the changed file; FILE itself stays.")
@click.option("--force", is_flag=True, help="Let --write replace a file that is there.")
@click.option("--options", "listed", is_flag=True, help="Also list single changes for every finding.")
@click.option("--all", "everything", is_flag=True, help="Give every finding a row of its own.")
@click.option(
    "--budget",
    type=click.IntRange(min=1),
    metavar="N",
    help="How many networks the search may solve, 80000 at least and unless given; it goes in stages "
    "of 80000, 320000 and so on, four times as many each; one with a tube counts as 40. "
    "More takes longer and never finds worse.",
)
@solving
def command(
    options: RunOptions,
    file: str,
    target: str | None,
    force: bool,
    listed: bool,
    everything: bool,
    budget: int | None,
    engine: "Engine",
) -> int:
    """Search the smallest set of changes after which nothing in FILE is over, and print it as a diff.

    The changed amplifier is solved before it is printed. Apply the diff with: netsim fix FILE | patch FILE
    """
    from netsim.advice.fix.fix import fix
    from netsim.advice.fix.search import MOST_NETWORKS
    from netsim.advice.remedies import with_remedies
    from netsim.cli.console import doing, hand_over
    from netsim.cli.proposal import Destination
    from netsim.description.reader import read
    from netsim.report.export import advice_json
    from netsim.report.terminal import fix_text

    announce(engine)
    amplifier = read(file)
    destination = None if target is None else Destination.demanded(target, file, amplifier.text, force=force)
    with doing("searching"):
        found = fix(amplifier, engine=engine, budget=budget or MOST_NETWORKS)
        singles = with_remedies(found.before).verdict.findings if listed else ()
    hand_over(
        options,
        lambda: advice_json.dump_fix(found, singles),
        lambda: fix_text.render(found, singles, everything=everything),
        fix_text.short_diff(found),
    )
    if destination is not None:
        destination.write(found.text)
    return NOTHING_OVER
