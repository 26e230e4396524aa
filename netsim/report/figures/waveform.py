"""The waveform figure: plate voltage and plate current over one period."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.report.figures import plot, svg
from netsim.report.figures.svg import Rows

_SAMPLES = 257


@dataclass(frozen=True)
class WaveformFigure:
    """The drawing, its extremes and its numbers: order, current, voltage, its phase."""

    drawing: Markup
    highest: str
    lowest: str
    crest_current: str
    rows: Rows


def waveform_figure(result: Analysis, row: int, prefix: str, band: str) -> WaveformFigure:
    """Draw what the tube sees and sends in one network, all solved orders added up.

    The current into the tube is ``s (I_dc + sum I_n cos n x)``; the plate voltage is the supply under load
    plus ``sum Re(V_n exp(j n x))`` with ``V_n = -Z_n s I_n``.
    """
    solved = result.solved
    supply, mean = float(solved.assembly.stage.plate_voltage[row]), float(solved.current.direct[row])
    voltage_peak = solved.solution.node_voltage["plate"][row] * solved.current.drive[row]
    current_peak = solved.current.phasors[row].real
    angle = np.linspace(-np.pi, np.pi, _SAMPLES)
    turns = np.outer(angle, solved.solution.orders)
    current: FloatArray = mean + np.cos(turns) @ current_peak
    voltage: FloatArray = supply + np.cos(turns) @ voltage_peak.real - np.sin(turns) @ voltage_peak.imag
    at = format_quantity(float(result.solved.frequency[row]), "Hz")
    lowest, highest = (format_quantity(float(edge), "V") for edge in (voltage.min(), voltage.max()))
    crest = format_quantity(float(current.max()), "A")
    return WaveformFigure(
        drawing=draw_waves(
            np.degrees(angle),
            voltage,
            current,
            supply,
            prefix,
            f"Plate voltage and current over one period, {band}, {at}",
            f"The plate voltage swings from {lowest} to {highest}; the current peaks at {crest}.",
        ),
        highest=highest,
        lowest=lowest,
        crest_current=crest,
        rows=tuple(_rows(mean, supply, current_peak, voltage_peak)),
    )


def draw_waves(
    degrees: FloatArray,
    voltage: FloatArray,
    current: FloatArray,
    supply: float,
    prefix: str,
    title: str,
    description: str,
) -> Markup:
    """Draw plate voltage [V] and current [A] over the phase of the drive [degrees], with the supply's level."""
    with plot.style():
        figure, left = plot.new_figure(460, 300)
        left.set_position((0.125, 0.145, 0.745, 0.825))
        left.axhline(supply * 1e-3, color=svg.MUTED, linewidth=0.9, linestyle=(0, (4, 3)))
        words = f"supply {format_quantity(supply, 'V')}"
        plot.note(left, words, (-180, supply * 1e-3), (4, 3), svg.MUTED, backed=0.6)
        left.plot(degrees, voltage * 1e-3, color=svg.ACCENT, linewidth=1.8)
        right = left.twinx()
        right.spines["right"].set_visible(True)
        right.grid(False)
        right.plot(degrees, current, color=svg.SECOND, linewidth=1.8, linestyle=(0, (5, 2)))
        crest = float(current.max())
        for axes, top in ((left, float(voltage.max()) * 1e-3), (right, crest)):
            axes.set_ylim(min(0.0, -0.06 * top), 1.12 * top)
        if voltage.min() < 0:
            left.set_ylim(1.1 * float(voltage.min()) * 1e-3)
        left.set_xlim(-180, 180)
        left.set_xticks(range(-180, 181, 60))
        left.set_xlabel("phase of the fundamental / degrees")
        left.set_ylabel("plate voltage / kV (solid)", color=svg.ACCENT)
        right.set_ylabel("plate current / A (dashed)", color=svg.SECOND)
    return plot.to_svg(figure, prefix, title, description)


def _rows(
    direct: float, supply: float, current_peak: FloatArray, voltage_peak: np.ndarray
) -> Iterator[tuple[str, ...]]:
    yield "DC", format_quantity(direct, "A"), format_quantity(supply, "V"), ""
    for order, (current, voltage) in enumerate(zip(current_peak, voltage_peak, strict=True), start=1):
        yield (
            str(order),
            f"{format_quantity(float(current), 'A')} pk",
            f"{format_quantity(float(abs(voltage)), 'V')} pk",
            f"{np.degrees(np.angle(voltage)):.0f}°",
        )
