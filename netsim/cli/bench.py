"""``netsim bench``: the cold-test card, and readings beside what is calculated."""

from typing import TYPE_CHECKING

import click

from netsim.cli.options import (
    RunOptions,
    announce,
    file_argument,
    quantity_of,
    samples_option,
    solving,
)
from netsim.errors import NOTHING_OVER

if TYPE_CHECKING:
    from netsim.analysis import Engine


@click.command("bench", short_help="Print what to measure cold, and how readings agree.")
@file_argument
@click.option("--plate-resistor", metavar="R", help='At hand for the cold test, such as "3.3 kohm".')
@samples_option
@solving
def command(
    options: RunOptions, file: str, plate_resistor: str | None, samples: int, engine: "Engine"
) -> int:
    """Print the cold test of every band of FILE, its readings beside what is calculated, and the losses.

    A resistor stands in for the tube, the supply is off and discharged, an analyser looks into the antenna socket.
    Exit status 0 once printed.
    """
    from netsim.advice.bench.bench import bench
    from netsim.cli.console import doing, hand_over
    from netsim.description.reader import read
    from netsim.errors import Problem, UsageError
    from netsim.report.export import bench_json
    from netsim.report.terminal import bench_text

    announce(engine)
    amplifier = read(file)
    resistor = quantity_of(plate_resistor, "ohm", "--plate-resistor")
    if resistor is not None and not 1 <= resistor <= 1e6:
        message = f"--plate-resistor: 1 ohm to 1 Mohm is wanted; found {plate_resistor}"
        raise UsageError(Problem("out_of_range", message))
    with doing("solving"):
        found = bench(amplifier, plate_resistor=resistor, engine=engine, samples=samples)
    hand_over(options, lambda: bench_json.dump_bench(found), lambda: bench_text.render(found, file))
    return NOTHING_OVER
