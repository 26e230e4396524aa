"""The drive: SWR that the exciter sees on every band, and the first power-up."""

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup

from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart
from netsim.verdict.box.result import InputResult, PowerUpResult
from netsim.verdict.checks.box import MOST_SWR, NOTED_SWR

_HIGHEST = 5.0


def draw_input_swr(rows: Sequence[InputResult], prefix: str) -> Markup:
    """Draw the SWR at every frequency, of at least one, with the marks from which it is close and over."""
    frequency, swr = (np.array([getattr(row, key) for row in rows]) for key in ("frequency_hertz", "swr"))
    top = min(max(float(swr.max()) * 1.1, MOST_SWR * 1.15), _HIGHEST)
    frame = Chart(
        Axis(float(frequency.min()) / 1.25, float(frequency.max()) * 1.25, 1e6, "MHz", logarithmic=True),
        Axis(1.0, top, 1.0, "SWR at the exciter"),
    )
    shapes: list[str] = [frame.frame()]
    for level, css in ((NOTED_SWR, "match-line"), (MOST_SWR, "limit-line")):
        shapes.append(frame.level(css, level))
    for x, y, value in zip(frame.across(frequency), frame.up(np.minimum(swr, top)), swr, strict=True):
        shapes.append(chart.mark(float(x), float(y), bool(value <= MOST_SWR)))
    spoken = "; ".join(f"{row.band}, {row.frequency_hertz / 1e6:.6g} MHz: {row.swr:.2f}" for row in rows)
    return chart.drawing(
        prefix, "SWR that the exciter sees", f"On every band, at full output. {spoken}.", shapes
    )


def draw_power_up(power_up: PowerUpResult, prefix: str) -> Markup:
    """Draw the plate current without drive while the supply comes up, and the rating of the plate's heat."""
    volts, current = (
        np.array([0.0, *(getattr(step, key) for step in power_up.supply)])
        for key in ("plate_volt", "plate_current_ampere")
    )
    rating = power_up.stop["plate_dissipation_watt"]
    top = max(float(current.max()) * 1.6, 1e-3)
    frame = Chart(
        Axis(0.0, float(volts.max()) * 1.05, 1e3, "plate / kV"), Axis(0.0, top, 1e-3, "plate / mA, no drive")
    )
    shapes: list[str] = [frame.frame()]
    if rating is not None:
        along = np.linspace(0.02, 1.05, 80) * float(volts.max())
        shapes.append(frame.curve("limit-line", along, rating / along))
    x, y = frame.across(volts), frame.up(current)
    shapes.append(frame.curve("plate", volts, current))
    shapes += [chart.mark(float(a), float(b), True) for a, b in zip(x[1:], y[1:], strict=True)]
    spoken = "; ".join(
        f"{step.plate_volt:.0f} V: {step.plate_current_ampere * 1e3:.0f} mA" for step in power_up.supply
    )
    return chart.drawing(
        prefix,
        "First power-up without drive",
        f"Plate current as the supply comes up in steps. {spoken}. Stop where it is clearly more, or past a rating.",
        shapes,
    )
