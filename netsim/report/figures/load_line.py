"""The tube at work: its waves over one period, and the line that plate voltage and current run along."""

from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart
from netsim.report.figures.svg import Rows
from netsim.report.figures.waveform import draw_waves
from netsim.verdict.tube_state import TubeState

_GRIDS = 6
"""Grid voltages at which the tube's own curves are drawn."""
_STEPS = (1.0, 2.0, 5.0)
_TABLE_STEP = 30
"""Degrees of the drive between rows of the table."""
_CURVE = 60
_ROOM = 1.08
_LINE = 10.0  # height of a line of text


@dataclass(frozen=True)
class TubeFigure:
    """Both drawings of one network with their numbers: phase of the drive, grid, plate, current."""

    waves: Markup
    line: Markup
    lowest: str
    highest: str
    crest_current: str
    rows: Rows


def tube_figure(found: TubeState, row: int, prefix: str, band: str, at: str) -> TubeFigure:
    """Draw one network's waves and load line by the tube's own law; band and frequency are for titles only."""
    balance = found.balance
    waves = balance.take(np.array([row])).waves()
    plate, grid, current = (_centred(wave[0]) for wave in (waves.plate, waves.grid, waves.current))
    degrees = np.linspace(-180, 180, len(plate))
    supply = float(balance.supply[row])
    lowest, highest = (format_quantity(float(edge), "V") for edge in (plate.min(), plate.max()))
    crest = format_quantity(float(current.max()), "A")
    return TubeFigure(
        waves=draw_waves(
            degrees,
            plate,
            current,
            supply,
            f"{prefix}-waves",
            f"Plate voltage and current by the tube's own law, {band}, {at}",
            f"Plate to cathode the voltage swings from {lowest} to {highest}; the current peaks at {crest}.",
        ),
        line=_draw_line(found, row, (plate, current), f"{prefix}-line", f"{band}, {at}"),
        lowest=lowest,
        highest=highest,
        crest_current=crest,
        rows=_rows(degrees, plate, grid, current),
    )


def _centred(wave: FloatArray) -> FloatArray:
    """Put the drive's crest in the middle of a closed period."""
    middle = np.roll(wave, len(wave) // 2)
    return np.append(middle, middle[0])


def _rows(degrees: FloatArray, plate: FloatArray, grid: FloatArray, current: FloatArray) -> Rows:
    phases = np.arange(-180, 180, _TABLE_STEP)
    columns = (np.interp(phases, degrees, wave).tolist() for wave in (grid, plate, current))
    return tuple(
        (
            f"{phase}°",
            format_quantity(g, "V"),
            format_quantity(p, "V"),
            format_quantity(i if i > 1e-6 else 0.0, "A"),
        )
        for phase, g, p, i in zip(phases.tolist(), *columns, strict=True)
    )


def _draw_line(
    found: TubeState, row: int, waves: tuple[FloatArray, FloatArray], prefix: str, place: str
) -> Markup:
    """Draw the tube's curves at some grid voltages and what the network makes of them."""
    plate, current = waves
    low, high = min(0.0, float(plate.min()) * _ROOM), float(plate.max()) * 1.02
    frame = Chart(
        Axis(low, high, 1e3, "plate to cathode voltage / kV"),
        Axis(0.0, float(current.max()) * 1.25, 1.0, "plate current / A"),
    )
    supply, direct = float(found.balance.supply[row]), float(found.balance.plate_current_dc[row])
    x, y = frame.place(supply, direct)
    shapes = [
        *_curves(found, row, frame, (low, high)),
        frame.frame(),
        frame.curve("run", plate, current),
        chart.mark(x, y, True),
        f'<text class="here" x="{x + 8:.1f}" y="{y - 7:.1f}">DC</text>',
    ]
    return chart.drawing(
        prefix,
        f"Load line, {place}",
        f"The way of plate current against plate to cathode voltage over one period, from "
        f"{format_quantity(float(plate.min()), 'V')} to {format_quantity(float(plate.max()), 'V')}, over the tube's "
        f"curves of constant grid voltage; on average {format_quantity(direct, 'A')} at "
        f"{format_quantity(supply, 'V')}.",
        shapes,
    )


def _curves(found: TubeState, row: int, frame: Chart, ends: tuple[float, float]) -> list[str]:
    tube = found.tube.single(row)
    crest = float(tube.bias_voltage + tube.drive_voltage_peak)
    # Close together near the knee, where the curves bend.
    plate = np.unique(np.append(np.linspace(0.0, 1.0, _CURVE) ** 2 * ends[1], 0.0))
    shapes = []
    for grid in grid_voltages(float(tube.bias_voltage), crest):
        current = tube.plate_current(plate, np.full(len(plate), grid))
        x, y = frame.across(plate), frame.up(current)
        shapes.append(frame.curve("curve", plate, current))
        inside = np.flatnonzero([frame.inside(a, b) for a, b in zip(x, y, strict=True)])
        if not inside.size or current.max() <= 0:
            continue
        at = int(inside[-1])
        high = max(float(y[at]) - 4, chart.TOP + _LINE)  # a curve may leave through the top
        shapes.append(
            f'<text class="end" x="{x[at] - 3:.1f}" y="{high:.1f}">{f"{grid:+g}" if grid else "0"} V</text>'
        )
    return shapes


def grid_voltages(low: float, high: float) -> list[float]:
    """Choose round grid voltages from the bias up to the crest of the drive."""
    rough = (high - low) / _GRIDS
    scale = 10.0 ** np.floor(np.log10(rough))
    step = next((s * scale for s in _STEPS if s * scale >= rough), 10 * scale)
    return [float(n * step) for n in range(int(np.ceil(low / step)), int(np.floor(high / step)) + 1)]
