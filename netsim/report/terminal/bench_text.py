"""The bench for the terminal: cautions, the cold test of every band, readings, losses."""

import shlex
from collections.abc import Iterator

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from netsim.advice.bench.bench import Bench
from netsim.advice.bench.cold_test import MORE, ColdTest
from netsim.advice.bench.comparison import Compared
from netsim.advice.bench.plate_resistor import Resistors
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.terminal.result_text import UNCHECKED
from netsim.verdict.losses import OUTPUT
from netsim.verdict.result import BandResult, Loss

CAUTIONS = (
    "A plate supply kills, also when it is off. Before a cold test: unplugged, waited, discharged through a bleeder, "
    "then shorted to chassis with an insulated stick, and the short left on until the resistor is to go in. Never "
    "trust a bleeder, a meter or an interlock. Tube and supply stay dead for as long as the analyser is connected. "
    "Take the resistor out before the supply is plugged in again. Follow local codes and licensed practice."
)

PLACES = {
    "output": "antenna",
    "leads": "coil's leads, switch, cabinet",
    "mismatch": "mismatch (never given)",
    "filter": "filter",
}


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
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("Band", no_wrap=True, max_width=9, overflow="ellipsis")
    for heading in ("MHz", "resistor", "tune", "load", "R + jX", "SWR", "read"):
        table.add_column(heading, justify="right", no_wrap=True)
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
    moves = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    moves.add_column("Band", no_wrap=True, max_width=9, overflow="ellipsis")
    for heading in ("more tune", "more load", "more coil"):
        moves.add_column(heading, justify="right", no_wrap=True)
    for test in tests:
        coil = NOTHING if test.more_coil is None else impedance(test.more_coil)
        moves.add_row(Text(test.band), impedance(test.more_tune), impedance(test.more_load), coil)
    yield moves


def _readings(found: tuple[Compared, ...]) -> Iterator[RenderableType]:
    if not found:
        yield Text("The file has no readings yet: write each as a [[measured]] table.")
        return
    yield Text("\nReadings beside what is calculated; E_n up to 1 agrees (ISO 13528:2015, 9.7):", "bold")
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for heading in ("line", "reading", "band", "calculated", "read", "E_n"):
        table.add_column(
            heading,
            justify="left" if heading in ("reading", "band") else "right",
            no_wrap=heading != "reading",
        )
    for entry in found:
        table.add_row(
            str(entry.line),
            Text(entry.what if entry.kind in ("impedance", entry.what) else f"{entry.what}, {entry.kind}"),
            Text(entry.band or NOTHING),
            with_range(entry.computed, entry.computed_half_width, entry.unit),
            with_range(entry.measured, entry.measured_half_width, entry.unit),
            Text(f"{entry.en:.2f}", "" if entry.en <= 1 else "bold red"),
        )
    yield table


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
        yield Padding(table, (0, 0, 0, 2))


def _pointers(found: Bench) -> Iterator[RenderableType]:
    if not found.points_to:
        return
    yield Text("\nWhat the output readings say of these losses:", "bold")
    for pointer in found.points_to:
        more = "more" if pointer.moved_watt > 0 else "less"
        yield Padding(
            Text(
                f"{pointer.band}, line {pointer.line}: {place_name(pointer.place)} loses "
                f"{format_quantity(abs(pointer.moved_watt), 'W')} {more} than the limits alone let expect "
                f"({abs(pointer.deviations):.1f} standard deviations), {format_quantity(pointer.watt, 'W')}"
            ),
            (0, 0, 0, 2),
        )


def _foot(found: Bench, file: str) -> Iterator[RenderableType]:
    if not found.result.verdict.cross_checked:
        yield Text(f"\n{UNCHECKED}", "bold yellow")
    name = shlex.quote(file)
    yield Text(f"\nNext: netsim {'fit' if found.readings else 'report'} {name}")


def pair(resistors: Resistors) -> str:
    """Write one resistor, or two with how they are joined."""
    shown = [format_quantity(value, "ohm", trim=True) for value in resistors.values]
    if resistors.joined == "alone":
        return shown[0]
    return f"{shown[0]} and {shown[1]} in {resistors.joined}"


def impedance(value: complex) -> str:
    """Write resistance and reactance [ohm]."""
    sign = "-" if value.imag < 0 else "+"
    return f"{value.real:.4g} {sign} {abs(value.imag):.3g}j"


def with_range(value: complex | float, half: float, unit: str) -> str:
    """Write a value and how far it may be off."""
    if isinstance(value, complex):
        return f"{impedance(value)} ± {half:.2g} Ω" if half else f"{impedance(value)} Ω"
    if not half:
        return format_quantity(value, unit)
    if unit == "1":
        return f"{value:.3g} ± {half:.2g}"
    return f"{format_quantity(value, unit)} ± {format_quantity(half, unit, digits=2)}"


def place_name(place: str) -> str:
    """Name where power goes."""
    return PLACES.get(place, place.replace("_", " "))


def loss_range(loss: Loss) -> str:
    """Write the range of a loss; nothing where none was sampled."""
    if loss.watt_low is None or loss.watt_high is None:
        return ""
    return f"{format_quantity(loss.watt_low, 'W')} to {format_quantity(loss.watt_high, 'W')}"


def _setting(farads: float, dial: float | None) -> str:
    return format_quantity(farads, "F") if dial is None else f"{format_quantity(farads, 'F')} ({dial:.1f})"
