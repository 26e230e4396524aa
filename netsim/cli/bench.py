"""``netsim bench``: the cold-test card, and readings beside what is calculated."""

import sys
from typing import TYPE_CHECKING

import click

from netsim.cli.options import (
    RunOptions,
    announce,
    debug_option,
    engine_option,
    file_argument,
    json_option,
    ohms,
    samples_option,
)
from netsim.errors import NOTHING_OVER

if TYPE_CHECKING:
    from netsim.analysis import Engine


@click.command("bench", short_help="Print what to measure cold, and how readings agree.")
@file_argument
@click.option("--plate-resistor", metavar="R", help='At hand for the cold test, such as "3.3 kohm".')
@samples_option
@json_option
@engine_option
@debug_option
@click.pass_obj
def command(
    options: RunOptions, file: str, plate_resistor: str | None, samples: int, engine: "Engine"
) -> int:
    """Print the cold test of every band of FILE, its readings beside what is calculated, and the losses.

    A resistor stands in for the tube, the supply is off and discharged, an analyser looks into the antenna socket.
    Exit status 0 once printed.
    """
    from netsim.advice.bench.bench import bench
    from netsim.cli.console import doing
    from netsim.description.reader import read

    announce(engine)
    amplifier = read(file)
    resistor = None if plate_resistor is None else ohms(plate_resistor, "--plate-resistor")
    with doing("solving"):
        found = bench(amplifier, plate_resistor=resistor, engine=engine, samples=samples)
    if options.as_json:
        from netsim.report.export import bench_json

        sys.stdout.write(bench_json.dump_bench(found))
    else:
        from netsim.cli.console import paper
        from netsim.report.terminal import bench_text

        paper(sys.stdout).print(bench_text.render(found, file))
    return NOTHING_OVER
