"""What the parts of a band serve: plate load against frequency, and tune against load capacitance."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.advice.coverage import CoverageMaps, PlateLoadCoverage, SettingsCoverage
from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.figures import chart
from netsim.report.figures.chart import Axis, Chart, label, line, mark
from netsim.report.figures.region import outline
from netsim.report.figures.svg import Rows

_LEVELS = (3.0, 1.5)
_SHARES = (1 / 3, 1 / 2, 1 / 1.5, 1.0, 1.5, 2.0, 3.0)
"""Plate loads of the table and of the marks on the line of matches, as shares of the wanted one."""
_BESIDE = (1 / 1.5, 1.0, 1.5)
"""Too near the mark of the amplifier itself to be written to the line."""


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
        settings=_draw_settings(settings, loads, f"{prefix}-settings"),
        setting_rows=_setting_rows(loads, settings.frequency),
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
    row = _at_share(loads, 1.0)
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
    return [_column(loads, frequency) for frequency in np.unique(loads.present_frequency).tolist()]


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


def _draw_settings(settings: SettingsCoverage, loads: PlateLoadCoverage, prefix: str) -> Markup:
    """Draw the plane of settings of one band, with those that other plate loads need."""
    tune, load = settings.tune, settings.load
    frame = Chart(
        Axis(float(load[0]), float(load[-1]), 1e-12, "load capacitor / pF", logarithmic=True),
        Axis(float(tune[0]), float(tune[-1]), 1e-12, "tune capacitor / pF", logarithmic=True),
    )
    across, up = frame.across(load), frame.up(tune)
    left, right = frame.across(np.array(settings.load_range)).tolist()
    bottom, top = frame.up(np.array(settings.tune_range)).tolist()
    shapes = [
        f'<path class="reach" {{clip}} d="M{left:.1f} {bottom:.1f}V{top:.1f}H{right:.1f}V{bottom:.1f}Z"/>',
        frame.frame(),
    ]
    for level in _LEVELS:
        depth = np.log(level) - np.log(settings.swr)
        shapes.append(f'<path class="{"near" if level > 2 else "served"}" d="{outline(depth, across, up)}"/>')
    shapes += _matches(frame, loads, settings.frequency)
    if settings.present is None:
        spoken = "No pair of settings matches the wanted plate load."
    else:
        spoken, mark = _present_setting(frame, settings)
        shapes.append(mark)
    at = format_quantity(settings.frequency, "Hz")
    return chart.drawing(
        prefix,
        f"Settings that match, {settings.band}, {at}",
        "Pairs of load and tune capacitance: the range of both capacitors, the line on which the plate sees a pure "
        f"resistance, and where the SWR against the wanted plate load is below 3 and below 1.5. {spoken}",
        shapes,
    )


def _setting_rows(loads: PlateLoadCoverage, frequency: float) -> Rows:
    """Write out what some plate loads need at a frequency [Hz] of the band: plate load, tune, load, in reach or not."""
    column = _column(loads, frequency)
    rows = []
    for share in _SHARES:
        place = _at_share(loads, share)
        values = (loads.tune[place, column], loads.load[place, column])
        tune, load = (NOTHING if np.isnan(value) else format_quantity(float(value), "F") for value in values)
        plate_load = loads.present_load if share == 1 else float(loads.plate_load[place])
        rows.append((_ohms(plate_load), tune, load, "yes" if loads.matched[place, column] else "no"))
    return tuple(rows)


def _column(loads: PlateLoadCoverage, frequency: float) -> int:
    """Give the column of a map that is nearest to a frequency [Hz]."""
    return int(np.argmin(np.abs(loads.frequency - frequency)))


def _at_share(loads: PlateLoadCoverage, share: float) -> int:
    """Give the row of a map that is nearest to a share of the wanted plate load."""
    return int(np.argmin(np.abs(np.log(loads.plate_load / loads.present_load / share))))


def _matches(frame: Chart, loads: PlateLoadCoverage, frequency: float) -> list[str]:
    """Draw the line of matches over plate load, with some plate loads written to it."""
    column = _column(loads, frequency)
    tune, load = loads.tune[:, column], loads.load[:, column]
    there = np.isfinite(tune) & np.isfinite(load) & (tune > 0) & (load > 0)
    if there.sum() < 2:
        return []
    x, y = frame.across(load[there]), frame.up(tune[there])
    thin = np.unique(np.append(np.arange(0, len(x), 4), len(x) - 1))
    shapes = [f'<path class="matches" {{clip}} d="{line(x[thin], y[thin])}"/>']
    taken: list[tuple[float, float]] = []
    for share in _SHARES:
        place = _at_share(loads, share)
        if share in _BESIDE or not there[place]:
            continue
        a, b = float(frame.across(load[place])), float(frame.up(tune[place]))
        free = all(abs(a - c) > 44 or abs(b - d) > 15 for c, d in taken)
        if frame.inside(a + 46, b - 14) and frame.inside(a - 4, b + 4) and free:
            taken.append((a, b))
            shapes.append(f'<circle class="match" cx="{a:.1f}" cy="{b:.1f}" r="2.5"/>')
            shapes.append(
                f'<text x="{a + 6:.1f}" y="{b - 4:.1f}">{_ohms(float(loads.plate_load[place]))}</text>'
            )
    return shapes


def _present_setting(frame: Chart, settings: SettingsCoverage) -> tuple[str, str]:
    assert settings.present is not None
    tune, load = settings.present
    x = float(np.clip(frame.across(np.array(load)), chart.LEFT, chart.RIGHT))
    y = float(np.clip(frame.up(np.array(tune)), chart.TOP, chart.BOTTOM))
    inside = all(
        low <= value <= high
        for value, (low, high) in ((tune, settings.tune_range), (load, settings.load_range))
    )
    words = "in reach" if inside else "out of reach"
    spoken = f"The match needs {format_quantity(tune, 'F')} and {format_quantity(load, 'F')}: {words}."
    return spoken, mark(x, y, inside) + label(x, y, f"needed, {words}", below=True)
