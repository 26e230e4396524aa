"""Temperatures along the way of the heat, from the anode to the air."""

import numpy as np
from markupsafe import Markup, escape

from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart
from netsim.report.figures.svg import cut
from netsim.verdict.box.result import CoolingResult

_MOST_LETTERS = 18


def draw_heat_path(cooling: CoolingResult, ambient: float, limit: float, prefix: str) -> Markup:
    """Draw the temperature of each joint [degC], with the range of its materials and the anode's limit."""
    joints = cooling.joints
    values = np.array([*(joint.celsius for joint in joints), ambient])
    low, high = (
        np.array([*(getattr(joint, f"celsius_{end}") for joint in joints), ambient])
        for end in ("low", "high")
    )
    top = max(float(high.max()), limit) * 1.08
    places = np.arange(len(values), dtype=np.float64)
    frame = Chart(
        Axis(-0.3, len(joints) + 0.3, 1.0, "from the anode to the air", ticks=tuple(places.tolist())),
        Axis(min(0.0, ambient), top, 1.0, "°C"),
    )
    across = frame.across(places)
    shapes: list[str] = [frame.frame(), frame.level("limit-line", limit)]
    for x, one, other in zip(across, frame.up(low), frame.up(high), strict=True):
        shapes.append(f'<path class="matched-level" {{clip}} d="M{x:.1f} {one:.1f}V{other:.1f}"/>')
    shapes.append(frame.curve("plate", places, values))
    for k, joint in enumerate(joints):
        x, y = frame.place(k, values[k])
        shapes.append(f'<circle class="here" cx="{x:.1f}" cy="{y:.1f}" r="3.5"/>')
        shapes.append(
            f'<text x="{x + 6:.1f}" y="{y - 6:.1f}">{escape(cut(joint.name, _MOST_LETTERS))}</text>'
        )
    spoken = "; ".join(f"{joint.name} {joint.celsius:.0f} °C" for joint in joints)
    return chart.drawing(
        prefix,
        "Temperatures along the heat path",
        f"Hot side of each piece from the anode outwards, then the air at {ambient:.0f} °C; limit of the anode "
        f"{limit:.0f} °C. {spoken}.",
        shapes,
    )
