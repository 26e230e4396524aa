"""The bench card: what to set and what to expect, cold and at work, to print and take to the amplifier."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from netsim.advice.bench.cold_test import MORE, ColdTest
from netsim.analysis import Analysis
from netsim.description.dial import Dial
from netsim.description.formatting import NOTHING, format_quantity
from netsim.description.models.capacitors import VariableCapacitor
from netsim.report.bench_words import CAUTIONS, impedance, pair
from netsim.report.figures.svg import Rows
from netsim.verdict.result import BandResult, Point


@dataclass(frozen=True)
class BenchRow:
    """One frequency; capacitances in pF and inductances in uH, as dials and meters are marked.

    ``first_of_band`` is the number of the band's rows in the first of them, else 0.
    """

    band: str
    first_of_band: int
    frequency: str
    plate_load: str
    loaded_q: str
    tune: str
    tune_dial: str
    load: str
    load_dial: str
    coil: str
    turns: str
    output_coil: str
    output: str
    dissipation: str
    tuned: bool


@dataclass(frozen=True)
class BenchTable:
    """All frequencies at one condition of the stage; `condition` is empty for the stage of the file."""

    condition: str
    wanted_plate_load: str
    rows: tuple[BenchRow, ...]


@dataclass(frozen=True)
class BenchCard:
    """The tables, and what holds for all of them.

    A row of the cold test: band, frequency, resistor for the tube, tune, its dial, load, its dial, what an analyser
    shows at the antenna socket with its SWR, and what it shows with more tune, load and coil.
    ``more`` is how much is more in the cold test, in words; ``cautions`` stand with it.
    """

    tables: tuple[BenchTable, ...]
    cold: Rows
    more: str
    cautions: str
    pi_l: bool
    wound: bool
    tune_range: str
    load_range: str
    any_untuned: bool
    even_dial: bool


def bench_card(result: Analysis, cold: Sequence[ColdTest] = ()) -> BenchCard:
    """Collect the settings and expectations of every frequency, at the stage and at each operating point."""
    verdict, network = result.verdict, result.amplifier.description.network
    conditions = [("", verdict.stage, verdict.bands)]
    conditions += [(point.name, point.stage, point.bands) for point in verdict.operating_points]
    tables = tuple(
        BenchTable(
            name,
            format_quantity(stage.plate_load_ohm, "ohm"),
            tuple(
                _row(band, place, network.tune_capacitor, network.load_capacitor)
                for band in bands
                for place in range(len(band.points))
            ),
        )
        for name, stage, bands in conditions
    )
    rows = [row for table in tables for row in table.rows]
    return BenchCard(
        tables=tables,
        cold=tuple(_cold_row(test, network.tune_capacitor, network.load_capacitor) for test in cold),
        more=f"{MORE - 1:.0%}",
        cautions=CAUTIONS,
        pi_l=verdict.topology == "pi-L",
        wound=any(row.turns for row in rows),
        tune_range=_range(network.tune_capacitor),
        load_range=_range(network.load_capacitor),
        any_untuned=any(not row.tuned for row in rows),
        even_dial=not (network.tune_capacitor.dial and network.load_capacitor.dial),
    )


def dial(setting: float, capacitor: VariableCapacitor) -> str:
    """Give the dial figure of a setting [F]: by the file's table, else in percent of the range, taken as even.

    Outside the table nothing is known, and a fixed capacitor has no dial.
    """
    if capacitor.dial:
        figure = float(Dial(capacitor.dial).figure(setting))
        return NOTHING if math.isnan(figure) else plain(round(figure, 6))
    span = capacitor.maximum - capacitor.minimum
    if span <= 0:
        return NOTHING
    return f"{100 * (setting - capacitor.minimum) / span:.0f} %"


def _row(band: BandResult, place: int, tune: VariableCapacitor, load: VariableCapacitor) -> BenchRow:
    point = band.points[place]
    return BenchRow(
        band=band.name,
        first_of_band=len(band.points) if place == 0 else 0,
        frequency=plain(point.frequency_hertz * 1e-6, 4),
        plate_load=_impedance(point),
        loaded_q=plain(point.loaded_q),
        tune=plain(point.tune_farad * 1e12),
        tune_dial=dial(point.tune_farad, tune),
        load=plain(point.load_farad * 1e12),
        load_dial=dial(point.load_farad, load),
        coil=plain(point.coil_henry * 1e6),
        turns="" if point.coil_turns is None else plain(point.coil_turns),
        output_coil="" if point.output_coil_henry is None else plain(point.output_coil_henry * 1e6),
        output=format_quantity(point.output_watt, "W"),
        dissipation=format_quantity(point.plate_dissipation_watt, "W"),
        tuned=point.tuned,
    )


def _cold_row(test: ColdTest, tune: VariableCapacitor, load: VariableCapacitor) -> tuple[str, ...]:
    return (
        test.band,
        plain(test.frequency_hertz * 1e-6, 4),
        pair(test.resistors),
        plain(test.tune_farad * 1e12),
        dial(test.tune_farad, tune),
        plain(test.load_farad * 1e12),
        dial(test.load_farad, load),
        Markup("<b>{}</b>").format(impedance(test.impedance_ohm)),
        f"{test.swr:.2f}",
        impedance(test.more_tune),
        impedance(test.more_load),
        NOTHING if test.more_coil is None else impedance(test.more_coil),
    )


def _impedance(point: Point) -> str:
    """Write what the plate sees [ohm]: a resistance where tuned, resistance and reactance elsewhere."""
    real, imaginary = point.plate_impedance_ohm
    if point.tuned or abs(imaginary) < 1e-6 * abs(real):
        return plain(real)
    return f"{plain(real)} {'+' if imaginary >= 0 else '-'} j{plain(abs(imaginary))}"


def _range(capacitor: VariableCapacitor) -> str:
    return f"{plain(capacitor.minimum * 1e12)} to {plain(capacitor.maximum * 1e12)} pF"


def plain(value: float, digits: int = 3) -> str:
    """Write a number with so many significant digits, without prefix or exponent."""
    if value == 0:
        return "0"
    rounded = float(f"{value:.{digits - 1}e}")
    exponent = int(f"{value:.{digits - 1}e}".partition("e")[2])
    return f"{rounded:.{max(digits - 1 - exponent, 0)}f}"
