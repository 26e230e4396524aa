"""A design for the terminal."""

from collections.abc import Iterator

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from netsim.advice.design import Design
from netsim.description.formatting import NOTHING
from netsim.report.notation import CAUTION
from netsim.report.terminal.tables import unchecked


def render(made: Design) -> RenderableType:
    """Lay out what was filled in; texts of the file are never read as markup."""
    return Group(*_parts(made))


def _parts(made: Design) -> Iterator[RenderableType]:
    verdict = made.result.verdict
    yield Text(verdict.title, "bold")
    meant = {"loaded": "plate load over reactance", "stored-energy": "by stored energy"}[made.definition]
    yield Text(f"{verdict.topology}, designed for a loaded Q of {made.target:g} ({meant})")
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("band", "coil", "output coil", "tune pad", "load pad", "at MHz", "Q", "energy Q"):
        table.add_column(name, no_wrap=True, justify="left" if name == "band" else "right")
    for band in made.bands:
        values = (band.coil, band.output_coil, band.tune_padding, band.load_padding)
        table.add_row(
            Text(band.name),
            *(value or NOTHING for value in values),
            f"{band.frequency_hertz / 1e6:.6g}",
            f"{band.loaded_q:.1f}",
            f"{band.stored_energy_q:.1f}",
        )
    yield table
    for band in made.bands:
        if band.note:
            yield Text(f"{band.name}: {band.note}")
    if made.box:
        yield Text("Filled in around the network:", "bold")
        yield from (Text(f"  {key} = {value}") for key, value in made.box)
    counts = verdict.counts
    yield Text(f"Checked as designed: {counts['over']} over, {counts['close']} close.")
    yield from unchecked(verdict.cross_checked)
    yield Text(CAUTION)
