"""What the parts of a band serve: plate load against frequency, and tune against load capacitance."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.advice.coverage import PlateLoadCoverage
from netsim.advice.coverage_maps import CoverageMaps
from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.description.formatting import format_quantity
from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart, label, line, mark
from netsim.report.figures.region import outline
from netsim.report.figures.settings_figure import draw_settings, loads_column, setting_rows
from netsim.report.figures.svg import Rows


@dataclass(frozen=True)
class CoverageFigure:
    """Both drawings of one band with their numbers."""

    loads: Markup
    load_rows: Rows
    settings: Markup
    setting_rows: Rows
    at: str
    answer: str


def coverage_figure(maps: CoverageMaps, prefix: str) -> CoverageFigure:
    """Draw both maps of one band."""
    loads, settings = maps.loads, maps.settings
    served = loads.range_served(within_window=True)
    answer = f"plate loads served with loaded Q in its window: {load_span(served)}; wanted {_ohms(loads.present_load)}"
    return CoverageFigure(
        loads=_draw_loads(loads, f"{prefix}-loads", answer),
        load_rows=load_rows(loads),
        settings=draw_settings(settings, loads, f"{prefix}-settings"),
        setting_rows=setting_rows(loads, settings.frequency),
        at=format_quantity(settings.frequency, "Hz"),
        answer=answer,
    )


def load_rows(loads: PlateLoadCoverage) -> Rows:
    """Write out what each of the band's frequencies serves: frequency, wanted, with a match, with loaded Q too."""
    return tuple(
        (
            format_quantity(float(loads.frequency[column]), "Hz"),
            _ohms(loads.present_load),
            _runs(loads.plate_load, loads.matched[:, column]),
            _runs(loads.plate_load, loads.served[:, column]),
        )
        for column in _columns(loads)
    )


def load_chart(several: Sequence[PlateLoadCoverage]) -> Chart:
    """Lay out plate load against frequency for one amplifier or more."""
    loads = np.concatenate([one.plate_load for one in several])
    frequencies = np.concatenate([one.frequency for one in several])
    listed = np.unique(np.concatenate([one.present_frequency for one in several]))
    ends = (float(listed[0]), float(listed[-1])) if len(listed) > 1 else (float(listed[0]),)
    return Chart(
        Axis(float(frequencies.min()), float(frequencies.max()), 1e6, "frequency / MHz", ticks=ends),
        Axis(float(loads.min()), float(loads.max()), 1e3, "plate load / kΩ", logarithmic=True),
    )


def load_region(frame: Chart, one: PlateLoadCoverage, where: BoolArray) -> str:
    """Outline the plate loads and frequencies at which something holds."""
    field = np.where(where, 1.0, -1.0)
    return outline(field, frame.across(one.frequency), frame.up(one.plate_load))


def present_line(frame: Chart, one: PlateLoadCoverage) -> tuple[FloatArray, FloatArray]:
    """Give the places of the amplifier itself: its plate load at its frequencies."""
    across = frame.across(np.unique(one.present_frequency))
    return across, np.full(len(across), float(frame.up(np.array(one.present_load))))


def _draw_loads(loads: PlateLoadCoverage, prefix: str, answer: str) -> Markup:
    frame = load_chart([loads])
    across, up = present_line(frame, loads)
    row = int(np.argmin(np.abs(np.log(loads.plate_load / loads.present_load))))
    good = [bool(loads.served[row, column]) for column in _columns(loads)]
    shapes = [
        f'<path class="matched" d="{load_region(frame, loads, loads.matched)}"/>',
        f'<path class="served" d="{load_region(frame, loads, loads.served)}"/>',
        frame.frame(),
        f'<path class="present" d="{line(across, up)}"/>',
        *(mark(x, y, inside) for x, y, inside in zip(across.tolist(), up.tolist(), good, strict=True)),
        label(float(across[-1]), float(up[-1]), f"wanted {_ohms(loads.present_load)}"),
    ]
    return chart.drawing(
        prefix,
        f"Plate loads that are served, {loads.band}",
        f"Over frequency, where both capacitors reach the match, and where loaded Q is in its window too; {answer}.",
        shapes,
    )


def _columns(loads: PlateLoadCoverage) -> list[int]:
    return [loads_column(loads, frequency) for frequency in np.unique(loads.present_frequency).tolist()]


def _runs(values: FloatArray, where: BoolArray) -> str:
    """Write the stretches of an axis where something holds."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], where.astype(int), [0]])))
    spans = [load_span((float(values[a]), float(values[b - 1]))) for a, b in edges.reshape(-1, 2).tolist()]
    return ", ".join(spans) or "none"


def load_span(ends: tuple[float, float] | None) -> str:
    """Write the least and the most of plate loads."""
    return "none" if ends is None else f"{_ohms(ends[0])} to {_ohms(ends[1])}"


def _ohms(value: float) -> str:
    return format_quantity(value, "ohm")
