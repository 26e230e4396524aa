"""The owner's curve points of the tube on the curves of the law that was fitted to them."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from markupsafe import Markup

from netsim.circuit.tube.triode import TubeConstants
from netsim.description.models.tube import CurvePoint
from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart

_SAMPLES = 80


def draw_curve_points(tube: TubeConstants, points: Sequence[CurvePoint], worst: int, prefix: str) -> Markup:
    """Draw plate current over plate voltage, one curve for each grid voltage that was read off.

    One tube is drawn, as makers' curves are; points are its plate voltage, grid voltage and plate current [V], [V],
    [A]. The one that the law misses most is a triangle.
    """
    single = replace(tube, count=1)
    plate, grid, current = (np.array([point[k] for point in points], dtype=np.float64) for k in range(3))
    along = np.linspace(0.0, float(plate.max()) * 1.05, _SAMPLES)
    curves = {
        float(volts): single.plate_current(along, np.full(_SAMPLES, volts)) for volts in np.unique(grid)
    }
    top = float(current.max()) * 1.25
    frame = Chart(
        Axis(0.0, float(along[-1]), 1e3, "plate / kV"), Axis(0.0, top, 1e-3, "plate current of one tube / mA")
    )
    shapes: list[str] = [frame.frame()]
    for volts, values in curves.items():
        x, y = frame.across(along), frame.up(values)
        shapes.append(frame.curve("plate", along, values))
        inside = np.flatnonzero(values <= top)
        last = int(inside[-1]) if inside.size else 0
        shapes.append(f'<text class="end" x="{x[last] - 4:.1f}" y="{y[last] - 4:.1f}">{volts:g} V</text>')
    for k, (x, y) in enumerate(zip(frame.across(plate), frame.up(current), strict=True)):
        shapes.append(chart.mark(float(x), float(y), k != worst))
    return chart.drawing(
        prefix,
        "Curve points on the fitted curves",
        f"{len(points)} points read off at {len(curves)} grid voltages, on the fitted curves. The triangle is "
        f"the point that it misses most: {plate[worst]:g} V, {grid[worst]:g} V, {current[worst] * 1e3:.3g} mA.",
        shapes,
    )
