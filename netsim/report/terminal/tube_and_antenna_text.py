"""What the tube and other antennas add to the result in a terminal: a few lines for each band."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from netsim.analysis import Analysis
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.notation import amount, subject_of
from netsim.report.terminal.tables import figures_table
from netsim.report.tube_and_antenna_words import dip_words, least_matched_row, most_used, share_words
from netsim.verdict.any_antenna import AnyAntenna
from netsim.verdict.meters import Meters
from netsim.verdict.result import Verdict
from netsim.verdict.solved import beyond_the_pulse


def render(result: Analysis) -> tuple[RenderableType, ...]:
    """Lay out large signal, dip and other antennas; nothing where the file asks for none of it."""
    solved = result.solved
    if not beyond_the_pulse(solved):
        return ()
    shown: list[RenderableType] = []
    if solved.tube_state is not None:
        shown += [Text("By the tube's own curves, settings as above:", "bold"), _large_signal(result.verdict)]
        shown += [Text("Plate current while tuning, drive unchanged:", "bold"), _dips(solved.meters)]
    if solved.any_antenna is not None:
        shown += _antennas(result, solved.any_antenna)
    return tuple(shown)


def _large_signal(verdict: Verdict) -> Table:
    table = figures_table("Band", "MHz", "plate", "grid", "drive", "to ngspice")
    for band in verdict.bands:
        name = band.name
        for point in band.points:
            found = point.large_signal
            if found is None:
                continue
            apart = found.worst_difference_to_spice_db
            table.add_row(
                Text(name),
                f"{point.frequency_hertz / 1e6:.6g}",
                format_quantity(found.plate_current_dc_ampere, "A"),
                format_quantity(found.grid_current_dc_ampere, "A"),
                format_quantity(found.drive_watt, "W"),
                NOTHING if apart is None else f"{apart:.1g} dB",
            )
            name = ""
    return table


def _dips(every: tuple[Meters, ...]) -> Table:
    table = figures_table("Band", "MHz")
    table.add_column("plate current")
    for meters in every:
        table.add_row(Text(meters.band), f"{meters.frequency / 1e6:.6g}", dip_words(meters))
    return table


def _antennas(result: Analysis, found: AnyAntenna) -> Iterator[RenderableType]:
    measured = found.swr is None
    which = "measured antenna" if measured else f"antennas up to an SWR of {found.swr:g}"
    yield Text(f"On the {which}, re-tuned within range:", "bold")
    table = figures_table("Band")
    table.add_column("match" if measured else "cannot be matched")
    table.add_column("most used" if measured else "most used at its worst antenna")
    for _, band, rows in result.solved.bands():
        worst = most_used(result, band)
        table.add_row(
            Text(band),
            share_words(found, least_matched_row(found, rows)),
            NOTHING
            if worst is None
            else f"{subject_of(worst)} {amount(worst.value, worst.unit, worst.quantity)}, "
            f"{percent(worst.used_fraction)}",
        )
    yield table
    if found.swr is not None:
        yield Text(
            "Harmonics into an antenna that is not matched there cannot be known from the\n"
            "network alone; `netsim report` shows their spread over terminations."
        )
