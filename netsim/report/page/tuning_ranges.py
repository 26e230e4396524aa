"""How far the variable capacitors reach: needed settings against the range, band by band."""

import math
from dataclasses import dataclass

from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.description.formatting import format_quantity
from netsim.report.notation import WORDS, band_anchor
from netsim.report.page.bars import silent
from netsim.verdict.result import Finding

_WIDTH, _HEIGHT, _EDGE = 220.0, 22.0, 8.0


@dataclass(frozen=True)
class SettingsNeeded:
    """One capacitor in one band."""

    drawing: Markup
    needed: str
    state: str


@dataclass(frozen=True)
class RangeRow:
    """One band."""

    band: str
    target: str
    tune: SettingsNeeded
    load: SettingsNeeded


@dataclass(frozen=True)
class TuningRanges:
    """All bands, and the two ranges."""

    rows: tuple[RangeRow, ...]
    tune_range: str
    load_range: str


def tuning_ranges(result: Analysis) -> TuningRanges:
    """Draw the needed settings of both capacitors on a logarithmic scale of capacitance."""
    network = result.amplifier.description.network
    ranges = {
        "tune": (network.tune_capacitor.minimum, network.tune_capacitor.maximum),
        "load": (network.load_capacitor.minimum, network.load_capacitor.maximum),
    }
    verdicts = {
        (f.band, f.quantity): f
        for f in result.verdict.findings
        if f.code == "tuning_range" and f.operating_point is None
    }
    rows = []
    scales = {side: _scale(result, side, ranges[side]) for side in ranges}
    for index, band in enumerate(result.verdict.bands):
        sides = {}
        for side in ("tune", "load"):
            needed = [getattr(point, f"{side}_needed_farad") for point in band.points]
            verdict = verdicts[band.name, side]
            sides[side] = _settings_needed(band.name, side, needed, ranges[side], scales[side], verdict)
        rows.append(RangeRow(band.name, band_anchor(index), sides["tune"], sides["load"]))
    return TuningRanges(tuple(rows), _written(ranges["tune"]), _written(ranges["load"]))


def _scale(result: Analysis, side: str, limits: tuple[float, float]) -> tuple[float, float]:
    """Give the ends of the scale, wide enough for the range and for every positive setting needed."""
    needed = [
        getattr(point, f"{side}_needed_farad") for band in result.verdict.bands for point in band.points
    ]
    positive = [value for value in needed if value is not None and value > 0]
    low, high = min([*positive, limits[0]]), max([*positive, limits[1]])
    return max(low, high * 1e-5) / 1.25, high * 1.25


def _settings_needed(
    band: str,
    side: str,
    needed: list[float | None],
    limits: tuple[float, float],
    scale: tuple[float, float],
    verdict: Finding,
) -> SettingsNeeded:
    known = [value for value in needed if value is not None]
    words = "no match" if not known else _span(min(known), max(known))
    spoken = f"{side} capacitor on {band}: {words} needed, {_written(limits)} there, {WORDS[verdict.state]}"
    return SettingsNeeded(
        drawing=_draw(known, limits, scale, verdict.state, spoken),
        needed=words + (" (some without match)" if known and len(known) < len(needed) else ""),
        state=verdict.state,
    )


def _draw(
    known: list[float], limits: tuple[float, float], scale: tuple[float, float], state: str, spoken: str
) -> Markup:
    """Draw the range as a trough and each needed setting as a stroke."""
    span = math.log(scale[1] / scale[0])

    def place(value: float) -> float:
        inside = min(max(value, scale[0]), scale[1])
        return _EDGE + (_WIDTH - 2 * _EDGE) * math.log(inside / scale[0]) / span

    left, right = place(limits[0]), place(limits[1])
    shapes = [
        f'<path class="axis" d="M{_EDGE:g} 11 H{_WIDTH - _EDGE:g}"/>',
        f'<rect class="trough" x="{left:.1f}" width="{max(right - left, 1):.1f}" y="6" height="10"/>',
    ]
    for value in known:
        x = place(value)
        outside = not limits[0] <= value <= limits[1]
        kind = "fill-over" if outside else f"fill-{'pass' if state == 'over' else state}"
        shapes.append(f'<rect class="{kind}" x="{x - 1.5:.1f}" width="3" y="2" height="18"/>')
        if outside:
            shapes.append(f'<path class="{kind}" d="M{x - 5:.1f} 22 L{x:.1f} 15 L{x + 5:.1f} 22 Z"/>')
    scale_told = "Logarithmic scale of capacitance; the trough is the range, each stroke a needed setting."
    return silent("reach", (_WIDTH, _HEIGHT), spoken, scale_told, "".join(shapes))


def _span(low: float, high: float) -> str:
    first, last = format_quantity(low, "F"), format_quantity(high, "F")
    return first if first == last else f"{first} to {last}"


def _written(limits: tuple[float, float]) -> str:
    return f"{format_quantity(limits[0], 'F')} to {format_quantity(limits[1], 'F')}"
