"""``netsim design``: coils and paddings where the file leaves them out."""

from typing import TYPE_CHECKING

import click

from netsim.cli.options import RunOptions, announce, file_argument, solving
from netsim.errors import NOTHING_OVER

if TYPE_CHECKING:
    from netsim.advice.loaded_q_design import QDefinition
    from netsim.analysis import Engine


LOWEST_Q, HIGHEST_Q = 0.1, 1000


def _permitted(context: click.Context, parameter: click.Parameter, value: float | None) -> float | None:
    # Written so that what is no number is refused, too.
    if value is not None and not LOWEST_Q <= value <= HIGHEST_Q:
        raise click.BadParameter(f"a loaded Q of {LOWEST_Q} to {HIGHEST_Q} is wanted; found {value}")
    return value


@click.command("design", short_help="Fill in coils and paddings for a loaded Q.")
@file_argument
@click.option("-o", "--output", "target", metavar="NEW", required=True, help="Where the completed file goes.")
@click.option("--force", is_flag=True, help="Replace a file that is there.")
@click.option(
    "--q-definition",
    "definition",
    type=click.Choice(["loaded", "stored-energy"]),
    default="loaded",
    show_default=True,
    help="loaded: plate load over reactance on the plate side; stored-energy: Q1 + Q2.",
)
@click.option(
    "--target",
    "aim",
    type=float,
    callback=_permitted,
    metavar="Q",
    help=f"Instead of limits.target_loaded_q; {LOWEST_Q} to {HIGHEST_Q}.",
)
@solving
def command(
    options: RunOptions,
    file: str,
    target: str,
    force: bool,
    definition: "QDefinition",
    aim: float | None,
    engine: "Engine",
) -> int:
    """Fill in the coils and paddings that FILE leaves out, for its target loaded Q; comments stay."""
    from netsim.advice.design import design
    from netsim.cli.console import doing, hand_over
    from netsim.cli.proposal import Destination
    from netsim.description.reader import load_text
    from netsim.report.export import advice_json
    from netsim.report.terminal import design_text

    announce(engine)
    text = load_text(file)
    destination = Destination.demanded(target, file, text, force=force)
    with doing("designing"):
        made = design(text, file, definition=definition, target=aim, engine=engine)
    hand_over(options, lambda: advice_json.dump_design(made), lambda: design_text.render(made))
    destination.write(made.text)
    return NOTHING_OVER
