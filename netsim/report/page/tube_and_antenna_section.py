"""What one band's section shows beyond the simple stage and the matched antenna."""

from dataclasses import dataclass

import numpy as np

from netsim.analysis import Analysis
from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.report.figures.antenna_figure import AntennaFigure, antenna_figure
from netsim.report.figures.load_line import TubeFigure, tube_figure
from netsim.report.figures.meter_figure import MeterFigure, meter_figure
from netsim.report.figures.spread_figure import Levels, SpreadFigure, spread_figure
from netsim.report.tube_and_antenna_words import least_matched_row
from netsim.verdict.any_antenna import HARMONIC_SWR, AnyAntenna
from netsim.verdict.solved import beyond_the_pulse


@dataclass(frozen=True)
class TubeAndAntennaSection:
    """The figures of one band; None for what the file does not ask for."""

    tube: TubeFigure | None
    meters: MeterFigure | None
    antennas: AntennaFigure | None
    spread: SpreadFigure | None
    worst_termination: str


def tube_and_antenna_section(
    result: Analysis, band: str, rows: list[int], drawn: int, anchor: str
) -> TubeAndAntennaSection | None:
    """Draw large signal, meters and other antennas of one band's networks; None where the file asks for neither.

    `drawn` is the network of the band's other figures, `anchor` goes before ids.
    """
    solved = result.solved
    if not beyond_the_pulse(solved):
        return None
    at = format_quantity(float(result.solved.frequency[drawn]), "Hz")
    large, found = solved.tube_state, solved.any_antenna
    return TubeAndAntennaSection(
        tube=None if large is None else tube_figure(large, drawn, f"{anchor}-tube", band, at),
        meters=next((meter_figure(m, f"{anchor}-meters") for m in solved.meters if m.band == band), None),
        antennas=None
        if found is None
        else _antennas(result, found, np.array(rows), f"{anchor}-antennas", band),
        spread=None
        if found is None
        else spread_figure(_levels(result, found, solved.harmonic_spread, drawn), f"{anchor}-spread", band),
        worst_termination=f"{HARMONIC_SWR:g}",
    )


def _antennas(
    result: Analysis,
    found: AnyAntenna,
    rows: "np.ndarray[tuple[int, ...], np.dtype[np.intp]]",
    prefix: str,
    band: str,
) -> AntennaFigure:
    row = least_matched_row(found, rows)
    resistance = np.broadcast_to(
        result.solved.assembly.parts.antenna_resistance, result.solved.frequency.shape
    )
    place = float(result.solved.frequency[row]), float(resistance[row])
    return antenna_figure(found, row, prefix, band, place)


def _levels(result: Analysis, found: AnyAntenna, change: FloatArray | None, row: int) -> Levels:
    base = result.solved.level[row, 1:]
    return Levels(
        matched=base,
        lowest=None if change is None else base + change[row, 1:, 0],
        highest=None if change is None else base + change[row, 1:, 1],
        measured=found.level[row, 1:] if found.swr is None else None,
        limit=result.amplifier.description.limits.harmonic_level,
        frequency=float(result.solved.frequency[row]),
    )
