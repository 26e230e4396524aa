"""The plate supply over time: from switching on, and in an arc."""

import numpy as np
from markupsafe import Markup

from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart
from netsim.verdict.box.state import SupplyState

_MOST_POINTS = 400
_ARC_SPAN = 5.0
"""Time constants of an arc that are drawn."""


def draw_switch_on(state: SupplyState, prefix: str) -> Markup:
    """Draw the voltage of the filter capacitors from switching on, with the inrush resistor and without."""
    through, without = state.through_resistor, state.without_resistor
    runs = [(without, "output")] if through is None else [(without, "output"), (through, "plate")]
    end = float(max(run.time[-1] for run, _ in runs))
    top = float(max(run.voltage.max() for run, _ in runs)) * 1.08
    frame = Chart(Axis(0.0, end, *_seconds(end)), Axis(0.0, top, 1e3, "capacitors / kV"))
    shapes: list[str] = [frame.frame()]
    for run, css in runs:
        time, volts = _thinned(run.time, run.voltage)
        if time[-1] < end:  # it stays where it is
            time, volts = np.append(time, end), np.append(volts, volts[-1])
        shapes.append(frame.curve(css, time, volts))
    if through is not None:
        at = float(frame.across(np.array(through.bridged)))
        shapes.append(f'<path class="match-line" {{clip}} d="M{at:.1f} {chart.TOP:g}V{chart.BOTTOM:g}"/>')
    spoken = f"Without an inrush resistor the secondary carries up to {format_quantity(without.peak, 'A')}"
    if through is not None:
        spoken += (
            f", with it up to {format_quantity(through.peak, 'A')}; it is bridged after "
            f"{format_quantity(through.bridged, 's')}, at {format_quantity(through.charged, 'V')}, and takes "
            f"{format_quantity(through.joule, 'J')}"
        )
    return chart.drawing(
        prefix,
        "Plate supply from switching on",
        f"Voltage of the filter capacitors over time, switched on at the mains' crest without load. {spoken}.",
        shapes,
    )


def draw_arc(state: SupplyState, prefix: str) -> Markup | None:
    """Draw the current of an arc at the plate over time; None where nothing limits it."""
    arc, circuit = state.arc, state.circuit
    if arc is None:
        return None
    end = _ARC_SPAN * circuit.arc_resistance * circuit.capacitance
    time, current = _thinned(arc.time[arc.time <= end], arc.current[arc.time <= end])
    frame = Chart(Axis(0.0, end, *_seconds(end)), Axis(0.0, arc.peak * 1.08, 1.0, "arc / A"))
    spoken = (
        f"It begins at {format_quantity(arc.peak, 'A')} and has fallen to a hundredth after "
        f"{format_quantity(arc.duration, 's')}. The glitch resistor takes {format_quantity(arc.glitch_joule, 'J')}, "
        f"the tube {format_quantity(arc.tube_joule, 'J')}."
    )
    curve = frame.curve("plate", time, current)
    return chart.drawing(
        prefix, "An arc at the plate", f"Current over time. {spoken}", [frame.frame(), curve]
    )


def _seconds(end: float) -> tuple[float, str]:
    return (1.0, "time / s") if end >= 1 else (1e-3, "time / ms")


def _thinned(time: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Leave out samples evenly, the last kept."""
    step = max(1, len(time) // _MOST_POINTS)
    kept = np.unique(np.append(np.arange(0, len(time), step), len(time) - 1))
    return time[kept], values[kept]
