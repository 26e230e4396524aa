"""A frame with two axes and places in it, written by hand: a tenth of what a drawing library writes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from netsim.circuit.elements import FloatArray
from netsim.report.figures.svg import framed, least_width

WIDTH, HEIGHT = 460, 300
LEFT, RIGHT, TOP, BOTTOM = 54.0, 448.0, 12.0, 258.0
"""Edges of the field in the drawing."""

TEXT = 11.5
"""Size of its text, as the page's style sets it."""

_STEPS = ((1, 2, 5), (1, 1.5, 2, 3, 5, 7), (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 9))
_FEWEST = 4
_LABEL_ROOM = 38.0


@dataclass(frozen=True)
class Axis:
    """One axis: ends in SI, what its labels count in, such as 1e-12 for pF, and its name, such as ``tune / pF``.

    Lines and labels stand at the ticks [SI], at round numbers where none are given.
    """

    low: float
    high: float
    unit: float
    label: str
    logarithmic: bool = False
    ticks: tuple[float, ...] = ()

    def share(self, values: FloatArray) -> FloatArray:
        """Give the places of values along the axis, 0 at its low end and 1 at its high one."""
        if self.logarithmic:
            with np.errstate(invalid="ignore", divide="ignore"):
                found = np.log(values / self.low) / math.log(self.high / self.low)
            return np.asarray(np.where(values > 0, found, -np.inf))
        return np.asarray((values - self.low) / (self.high - self.low))

    def marks(self) -> tuple[float, ...]:
        """Give the ticks, round numbers if none were asked for."""
        if self.ticks:
            return self.ticks
        return self._decades() if self.logarithmic else self._even()

    def _even(self) -> tuple[float, ...]:
        low, high = self.low / self.unit, self.high / self.unit
        rough = (high - low) / 5
        scale = 10.0 ** math.floor(math.log10(rough))
        step = next(s * scale for s in (1, 2, 5, 10) if s * scale >= rough)
        count = range(math.ceil(low / step), math.floor(high / step) + 1)
        return tuple(n * step * self.unit for n in count)

    def _decades(self) -> tuple[float, ...]:
        low, high = self.low / self.unit, self.high / self.unit
        decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        for steps in _STEPS:
            found = [s * 10.0**d for d in decades for s in steps if low <= s * 10.0**d <= high]
            if len(found) >= _FEWEST:
                return tuple(value * self.unit for value in found)
        return self._even()


@dataclass(frozen=True)
class Chart:
    """Two axes and the field between them."""

    x: Axis
    y: Axis

    def across(self, values: FloatArray) -> FloatArray:
        """Give places along the lower edge, held within a field's width of the field."""
        return np.asarray(LEFT + (RIGHT - LEFT) * np.clip(self.x.share(values), -1, 2))

    def up(self, values: FloatArray) -> FloatArray:
        """Give places along the left edge, held within a field's height of the field."""
        return np.asarray(BOTTOM - (BOTTOM - TOP) * np.clip(self.y.share(values), -1, 2))

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Give the place of one pair of values."""
        return float(self.across(np.array(x))), float(self.up(np.array(y)))

    def curve(self, css_class: str, x: FloatArray, y: FloatArray) -> str:
        """Draw a curve within the field."""
        return f'<path class="{css_class}" {{clip}} d="{line(self.across(x), self.up(y))}"/>'

    def level(self, css_class: str, y: float) -> str:
        """Draw a line across the field."""
        up = float(self.up(np.array(y)))
        return f'<path class="{css_class}" {{clip}} d="M{LEFT:g} {up:.1f}H{RIGHT:g}"/>'

    def inside(self, x: float, y: float) -> bool:
        """Tell whether a place in the drawing is in the field."""
        return LEFT <= x <= RIGHT and TOP <= y <= BOTTOM

    def frame(self) -> Markup:
        """Draw grid, labels and names of the axes; labels that would lie on others are left out."""
        grid, shapes = [], []
        last = -math.inf
        for value in self.x.marks():
            place = float(self.across(np.array(value)))
            grid.append(f"M{place:.1f} {TOP:g}V{BOTTOM:g}")
            if place - last > _LABEL_ROOM:
                last = place
                shapes.append(_text("mid", place, BOTTOM + 15, _number(value / self.x.unit)))
        for value in self.y.marks():
            place = float(self.up(np.array(value)))
            grid.append(f"M{LEFT:g} {place:.1f}H{RIGHT:g}")
            shapes.append(_text("end", LEFT - 6, place + 4, _number(value / self.y.unit)))
        middle = (TOP + BOTTOM) / 2
        shapes.append(_text("mid name", (LEFT + RIGHT) / 2, HEIGHT - 6, self.x.label))
        turned = f'<g transform="rotate(-90 13 {middle:g})">{_text("mid name", 13, middle, self.y.label)}</g>'
        edge = f'<path class="edge" d="M{LEFT:g} {TOP:g}V{BOTTOM:g}H{RIGHT:g}"/>'
        return Markup(f'<path class="grid" d="{"".join(grid)}"/>{edge}{"".join(shapes)}{turned}')


def drawing(prefix: str, title: str, description: str, shapes: Sequence[str]) -> Markup:
    """Put shapes that are fit for the page into an SVG of the size of a chart.

    ``{clip}`` in them becomes the reference to the field; title and description are escaped here.
    """
    clip, view_box = f"{prefix}-field", f"0 0 {WIDTH} {HEIGHT}"
    body = "".join(shapes).replace("{clip}", f'clip-path="url(#{clip})"')
    field = f'<clipPath id="{clip}"><path d="M{LEFT:g} {TOP:g}H{RIGHT:g}V{BOTTOM:g}H{LEFT:g}Z"/></clipPath>'
    attributes = f'class="plot chart"{least_width(view_box, TEXT)}'
    return framed(attributes, view_box, prefix, title, description, field + body)


def line(x: FloatArray, y: FloatArray) -> str:
    """Write places of a drawing as the data of a path."""
    return "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x.tolist(), y.tolist(), strict=True))


def mark(x: float, y: float, good: bool) -> str:
    """Mark the amplifier itself: a dot where it is served, a triangle where it is not."""
    if good:
        return f'<circle class="here" cx="{x:.1f}" cy="{y:.1f}" r="4.5"/>'
    return f'<path class="here miss" d="M{x:.1f} {y - 5.5:.1f}l5.5 10h-11z"/>'


def label(x: float, y: float, words: str, *, below: bool = False) -> str:
    """Write this program's own words beside a mark, to its left where there is room."""
    end = x > LEFT + 120
    under = y < TOP + 24 or (below and y < BOTTOM - 24)
    place = f'x="{x - 8 if end else x + 8:.1f}" y="{y + 20 if under else y - 9:.1f}"'
    return f'<text class="here{" end" if end else ""}" {place}>{words}</text>'


def _number(value: float) -> str:
    return f"{value:.4g}" if value < 1000 else f"{value:.0f}"


def _text(css_class: str, x: float, y: float, words: str) -> str:
    """Write one of this program's own words; no user's text comes here."""
    return f'<text class="{css_class}" x="{x:.1f}" y="{y:.1f}">{words}</text>'
