"""``netsim compare``: two amplifiers, or two topologies, side by side."""

import sys
from typing import TYPE_CHECKING

import click

from netsim.cli.exits import NOTHING_OVER
from netsim.cli.manner import Manner, announce, debug_option, engine_option, json_option

if TYPE_CHECKING:
    from netsim.study import Engine


@click.command("compare", short_help="Put two amplifiers or topologies side by side.")
@click.argument("files", nargs=-1, type=click.Path(), required=True, metavar="FILE [OTHER]")
@click.option(
    "--topology",
    "topologies",
    nargs=2,
    metavar="FIRST SECOND",
    help="One FILE as two topologies, such as pi pi-L; what is missing is designed.",
)
@json_option
@engine_option
@debug_option
@click.pass_obj
def command(
    manner: Manner, files: tuple[str, ...], topologies: tuple[str, str] | None, engine: "Engine"
) -> int:
    """Put two amplifiers side by side: what the second gains and what it loses, band by band."""
    from netsim.advice.comparison import compare, compare_topologies
    from netsim.cli.progress import doing
    from netsim.description.reader import read

    if len(files) != (1 if topologies else 2):
        raise click.UsageError("two files are compared, or one file with --topology FIRST SECOND")
    announce(engine)
    descriptions = [read(file) for file in files]
    with doing("comparing"):
        if topologies:
            found = compare_topologies(descriptions[0], *topologies, engine=engine)
        else:
            found = compare(*descriptions, engine=engine)
    if manner.as_json:
        from netsim.report import advice_json

        sys.stdout.write(advice_json.dump_comparison(found))
    else:
        from netsim.cli.console import paper
        from netsim.report import comparison_text

        paper(sys.stdout).print(comparison_text.render(found))
    return NOTHING_OVER
