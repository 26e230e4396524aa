"""``netsim taps``: where the taps of the coil are, and where they belong."""

import sys
from typing import TYPE_CHECKING

import click

from netsim.cli.options import RunOptions, announce, debug_option, engine_option, file_argument, json_option
from netsim.errors import NOTHING_OVER

if TYPE_CHECKING:
    from netsim.analysis import Engine


@click.command("taps", short_help="Say where the coil's taps belong.")
@file_argument
@click.option(
    "--plate-load",
    "plate_load",
    metavar="R",
    help='Answer for another tube, such as "2.2 kohm"; its output capacitance is taken to be the file\'s.',
)
@json_option
@engine_option
@debug_option
@click.pass_obj
def command(options: RunOptions, file: str, plate_load: str | None, engine: "Engine") -> int:
    """Say of every band of FILE what its tap of the coil serves, and where it should be.

    Wanted is limits.target_loaded_q; a proposed tap is solved like the present one before it is named. Bands may
    leave their tap out: where do the taps go? Exit status 0 whatever is proposed.
    """
    from netsim.advice.draft import draft
    from netsim.advice.taps.taps import taps
    from netsim.cli.console import doing
    from netsim.description.reader import load_text

    announce(engine)
    started = draft(load_text(file), file)
    unplaced = frozenset(n for n, lacking in enumerate(started.lacking) if "coil" in lacking)
    ohms = None if plate_load is None else _ohms(plate_load)
    with doing("trying every tap"):
        advice = taps(started.amplifier, plate_load=ohms, engine=engine, unplaced=unplaced)
    if options.as_json:
        from netsim.report.export import advice_json

        sys.stdout.write(advice_json.dump_taps(advice))
    else:
        from netsim.cli.console import paper
        from netsim.report.terminal import taps_text

        paper(sys.stdout).print(taps_text.render(advice, file, another_tube=ohms is not None))
    return NOTHING_OVER


def _ohms(text: str) -> float:
    """Read a plate load as strictly as one in a file."""
    from netsim.description.units import parse_quantity
    from netsim.errors import DescriptionError, Problem, UsageError

    try:
        return parse_quantity(text, "ohm")
    except DescriptionError as error:
        problem = error.problems[0]
        raise UsageError(Problem(problem.code, f"--plate-load: {problem.message}")) from None
