"""The bench for the terminal: cautions, the cold test of every band, readings, losses."""

import shlex
from collections.abc import Iterable, Iterator

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from netsim.advice.bench.bench import Bench
from netsim.advice.bench.cold_test import MORE, ColdTest
from netsim.advice.bench.comparison import Compared
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.bench_words import (
    CAUTIONS,
    en_words,
    impedance,
    loss_range,
    pair,
    place_name,
    pointer_words,
    reading_name,
    why_less,
    with_range,
)
from netsim.report.terminal.tables import figures_table, indented, unchecked
from netsim.verdict.losses import OUTPUT
from netsim.verdict.result import BandResult


def render(found: Bench, file: str) -> RenderableType:
    """Lay out the bench for a console of 80 columns; texts of the file are never read as markup."""
    return Group(
        Text(found.result.verdict.title, "bold"),
        Text(f"\n{CAUTIONS}", "bold"),
        *_cold(found.cold_match),
        *_readings(found.readings),
        *_losses(found.result.verdict.bands),
        *_pointers(found),
        *_foot(found, file),
    )


def _cold(tests: tuple[ColdTest, ...]) -> Iterator[RenderableType]:
    yield Text(
        "\nCold test: the resistor from plate to chassis, tube cold in its socket, analyser at the", "bold"
    )
    yield Text("antenna socket, antenna off. SWR against the antenna's resistance.", "bold")
    table = figures_table("Band", "MHz", "resistor", "tune", "load", "R + jX", "SWR", "read")
    for test in tests:
        table.add_row(
            Text(test.band),
            f"{test.frequency_hertz / 1e6:.6g}",
            format_quantity(test.resistors.resistance, "ohm"),
            _setting(test.tune_farad, test.tune_dial),
            _setting(test.load_farad, test.load_dial),
            impedance(test.impedance_ohm),
            f"{test.swr:.2f}",
            "_____",
        )
    yield table
    for test in tests:
        if test.resistors.joined != "alone":
            yield Text(
                f"{test.band}: {pair(test.resistors)} for a plate load of "
                f"{format_quantity(test.plate_load_ohm, 'ohm')}"
            )
    yield Text(
        f"\nWhich way it moves (settings {MORE - 1:.0%} up; coil: one tap step, or {MORE - 1:.0%}, more):",
        "bold",
    )
    moves = figures_table("Band", "more tune", "more load", "more coil")
    for test in tests:
        coil = NOTHING if test.more_coil is None else impedance(test.more_coil)
        moves.add_row(Text(test.band), impedance(test.more_tune), impedance(test.more_load), coil)
    yield moves


def _readings(found: tuple[Compared, ...]) -> Iterator[RenderableType]:
    if not found:
        yield Text("The file has no readings yet: write each as a [[measured]] table.")
        return
    yield Text("\nReadings beside what is calculated; E_n up to 1 agrees (ISO 13528:2015, 9.7):", "bold")
    yield readings_table("calculated", ((entry, entry.agrees) for entry in found))


def readings_table(calculated: str, readings: Iterable[tuple[Compared, bool]]) -> Table:
    """Return a table of readings beside what is calculated; what is not believed stands out."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for heading in ("line", "reading", "band", calculated, "read", "E_n"):
        words = heading in ("reading", "band")
        table.add_column(heading, justify="left" if words else "right", no_wrap=heading != "reading")
    for entry, believed in readings:
        table.add_row(
            str(entry.line),
            Text(reading_name(entry)),
            Text(entry.band or NOTHING),
            with_range(entry.computed, entry.computed_half_width, entry.unit),
            with_range(entry.measured, entry.measured_half_width, entry.unit),
            Text(en_words(entry), "" if believed else "bold red"),
        )
    return table


def _losses(bands: tuple[BandResult, ...]) -> Iterator[RenderableType]:
    yield Text("Where the power of the plate goes, at the frequency of least output:", "bold")
    for band in bands:
        shown = [loss for loss in band.losses if loss.share >= 5e-4 or loss.place == OUTPUT]
        yield Text.assemble((band.name, "bold"), f", {(band.losses_at_hertz or 0.0) / 1e6:.6g} MHz")
        table = Table(box=None, pad_edge=False, show_header=False)
        for justify in ("left", "right", "right", "left"):
            table.add_column(justify=justify, no_wrap=True)
        for loss in shown:
            table.add_row(
                place_name(loss.place), format_quantity(loss.watt, "W"), f"{loss.share:.1%}", loss_range(loss)
            )
        yield indented(table)
    if words := why_less(bands):
        yield Text(f"\n{words}")


def _pointers(found: Bench) -> Iterator[RenderableType]:
    if not found.points_to:
        return
    yield Text("\nWhat the output readings say of these losses:", "bold")
    for pointer in found.points_to:
        yield indented(pointer_words(pointer))


def _foot(found: Bench, file: str) -> Iterator[RenderableType]:
    yield from unchecked(found.result.verdict.cross_checked, "\n")
    name = shlex.quote(file)
    yield Text(f"\nNext: netsim {'fit' if found.readings else 'report'} {name}")


def _setting(farads: float, dial: float | None) -> str:
    return format_quantity(farads, "F") if dial is None else f"{format_quantity(farads, 'F')} ({dial:.1f})"
