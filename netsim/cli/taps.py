"""``netsim taps``: where the taps of the coil are, and where they belong."""

from typing import TYPE_CHECKING

import click

from netsim.cli.options import RunOptions, announce, file_argument, quantity_of, solving
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
@solving
def command(options: RunOptions, file: str, plate_load: str | None, engine: "Engine") -> int:
    """Say of every band of FILE what its tap of the coil serves, and where it should be.

    Wanted is limits.target_loaded_q; a proposed tap is solved like the present one before it is named. Bands may
    leave their tap out: where do the taps go? Exit status 0 whatever is proposed.
    """
    from netsim.advice.design import draft
    from netsim.advice.taps.taps import taps
    from netsim.cli.console import doing, hand_over
    from netsim.description.reader import load_text
    from netsim.report.export import advice_json
    from netsim.report.terminal import taps_text

    announce(engine)
    started = draft(load_text(file), file)
    unplaced = frozenset(n for n, lacking in enumerate(started.lacking) if "coil" in lacking)
    ohms = quantity_of(plate_load, "ohm", "--plate-load")
    with doing("trying every tap"):
        advice = taps(started.amplifier, plate_load=ohms, engine=engine, unplaced=unplaced)
    hand_over(
        options,
        lambda: advice_json.dump_taps(advice),
        lambda: taps_text.render(advice, file, another_tube=ohms is not None),
    )
    return NOTHING_OVER
