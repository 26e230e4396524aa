"""One band at length: its operating points, its figures, its parts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from markupsafe import Markup

from netsim.advice.coverage import CoverageMaps
from netsim.analysis import Analysis, response
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.figures.coverage_figure import CoverageFigure, coverage_figure
from netsim.report.figures.response import ResponseFigure, response_figure
from netsim.report.figures.schematic import schematic_figure
from netsim.report.figures.smith import SmithFigure, smith_figure
from netsim.report.figures.svg import Rows
from netsim.report.figures.waveform import WaveformFigure, waveform_figure
from netsim.report.notation import (
    MARKS,
    WORDS,
    band_anchor,
    finding_title,
    frequencies_of,
    tuned_words,
    value_of,
    worst_of_band,
)
from netsim.report.page.part_table import PartRow, part_table, worst_by_part
from netsim.report.page.tube_and_antenna_section import TubeAndAntennaSection, tube_and_antenna_section
from netsim.verdict.result import BandResult, Point


@dataclass(frozen=True)
class BandSection:
    """Everything that the page shows of one band; figures are drawn at one of its frequencies."""

    anchor: str
    name: str
    state: str
    summary: str
    frequencies: str
    drawn_at: str
    points: Rows
    wound: tuple[str, ...]
    large_signal: Rows
    parts: tuple[PartRow, ...]
    schematic: Markup
    response: ResponseFigure
    smith: SmithFigure
    waveform: WaveformFigure
    coverage: CoverageFigure | None
    tube_and_antenna: TubeAndAntennaSection | None


def band_sections(result: Analysis, coverage: Sequence[CoverageMaps] = ()) -> tuple[BandSection, ...]:
    """Write out and draw every band; what its parts serve only where it has been mapped."""
    maps = {one.band: one for one in coverage}
    rows = _rows(result)
    drawn = drawn_rows(result)
    swept = response(result, drawn)
    limit = result.amplifier.description.limits.harmonic_level
    points = [point for band in result.verdict.bands for point in band.points]
    sections = []
    for index, band in enumerate(result.verdict.bands):
        anchor, row = band_anchor(index), drawn[index]
        found = worst_of_band(result.verdict, band.name)
        state = "not_rated" if found is None else found[1].state
        sections.append(
            BandSection(
                anchor=anchor,
                name=band.name,
                state=state,
                summary=_summary(result, band),
                frequencies=frequencies_of(band),
                drawn_at=format_quantity(points[row].frequency_hertz, "Hz"),
                points=tuple(_point(point) for point in band.points),
                wound=tuple(_wound(points[row])),
                large_signal=tuple(_large_signal(band)),
                parts=part_table(result, index, rows[index]),
                schematic=schematic_figure(
                    result, row, f"{anchor}-schematic", band.name, worst_by_part(result, band.name)
                ),
                response=response_figure(points[row], swept[index], limit, f"{anchor}-response", band.name),
                smith=smith_figure(result, row, f"{anchor}-smith", band.name),
                waveform=waveform_figure(result, row, f"{anchor}-waveform", band.name),
                coverage=coverage_figure(maps[band.name], f"{anchor}-coverage")
                if band.name in maps
                else None,
                tube_and_antenna=tube_and_antenna_section(result, band.name, rows[index], row, anchor),
            )
        )
    return tuple(sections)


def drawn_rows(result: Analysis) -> list[int]:
    """Choose the network of each band that its figures show."""
    return [_drawn_row(result, index, own) for index, own in enumerate(_rows(result))]


def _rows(result: Analysis) -> list[list[int]]:
    return [np.asarray(rows).tolist() for _, _, rows in result.solved.bands()]


def _drawn_row(result: Analysis, index: int, rows: list[int]) -> int:
    """Choose the frequency to draw: that of the band's worst finding on the matched antenna."""
    band = result.verdict.bands[index]
    matched = [f for f in result.verdict.findings if f.case != "any_antenna"]
    found = worst_of_band(replace(result.verdict, findings=tuple(matched)), band.name)
    if found is None or found[1].frequency_hertz is None:
        return rows[0]
    listed = np.array([point.frequency_hertz for point in band.points])
    return rows[int(np.argmin(np.abs(listed - found[1].frequency_hertz)))]


def _summary(result: Analysis, band: BandResult) -> str:
    """Give the counts of a band and its worst finding in a line."""
    own = [f for f in result.verdict.findings if f.band == band.name]
    counts = ", ".join(
        f"{number} {WORDS[state]}" for state in MARKS if (number := sum(f.state == state for f in own))
    )
    found = worst_of_band(result.verdict, band.name)
    if found is None:
        return counts
    used = "" if found[1].used_fraction is None else f" ({percent(found[1].used_fraction)})"
    return f"{counts}; most used: {finding_title(found[1]).lower()}, {value_of(found[1])}{used}"


def _wound(point: Point) -> Iterator[str]:
    """Tell what is known of wound coils beyond their inductance."""
    keys = ("turns", "q", "loops", "free_end_voltage_peak_volt")
    for label, coil in (("Coil", "coil"), ("Output coil", "output_coil")):
        turns, q, loops, free_end = (getattr(point, f"{coil}_{key}") for key in keys)
        if turns is None:
            continue
        words = [f"{label}: {format_quantity(turns, '1', trim=True)} turns in use"]
        if q is not None:
            words.append(f"unloaded Q {format_quantity(q, '1')}")
        words += [
            f"shorted loop of {format_quantity(loop.turns, '1', trim=True)} turns with "
            f"{format_quantity(loop.current_rms_ampere, 'A')} rms and {format_quantity(loop.loss_watt, 'W')}"
            for loop in loops
        ]
        if free_end is not None:
            words.append(f"{format_quantity(free_end, 'V')} pk from tap to free end")
        yield "; ".join(words)


def _point(point: Point) -> tuple[str, ...]:
    real, imaginary = point.plate_impedance_ohm
    second = point.harmonics[0].level_dbc
    return (
        format_quantity(point.frequency_hertz, "Hz"),
        tuned_words(point.tuned),
        f"{real:.0f} {'-' if imaginary < -0.5 else '+'} j{abs(imaginary):.0f} Ω",
        format_quantity(point.loaded_q, "1"),
        format_quantity(point.stored_energy_q, "1"),
        f"{format_quantity(100 * point.efficiency, '1')} %",
        format_quantity(point.output_watt, "W"),
        format_quantity(point.plate_dissipation_watt, "W"),
        NOTHING if second is None else f"{second:.1f} dBc",
    )


def _large_signal(band: BandResult) -> Iterator[tuple[str, ...]]:
    """Write out the points of a band at which the tube itself was worked out."""
    for point in band.points:
        found = point.large_signal
        if found is None:
            continue
        difference = found.worst_difference_to_spice_db
        yield (
            format_quantity(point.frequency_hertz, "Hz"),
            f"{format_quantity(found.plate_current_dc_ampere, 'A')} DC",
            f"{format_quantity(found.grid_current_dc_ampere, 'A')} DC",
            format_quantity(found.drive_watt, "W"),
            format_quantity(found.grid_dissipation_watt, "W"),
            format_quantity(found.conduction_angle_degree, "deg"),
            format_quantity(found.plate_voltage_minimum_volt, "V"),
            format_quantity(found.input_resistance_ohm, "ohm"),
            NOTHING if difference is None else f"{difference:.2g} dB",
        )
