"""The schematic of one network, values on its parts, failing parts marked by colour, mark and word."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.description.formatting import format_quantity
from netsim.report.figures import svg
from netsim.report.figures.schematic_notes import LINE, UNIT, Note, part_note, stage_note, written
from netsim.report.notation import part_label
from netsim.verdict.result import Finding

_LEG = -3.0
_LABEL_ROOM = 3.9


def schematic_figure(
    result: Analysis, row: int, prefix: str, band: str, worst: Mapping[str, Finding]
) -> Markup:
    """Draw one network with its values and settings, marked by the worst finding of each part on the band.

    Its numbers stand in the part table.
    """
    sketch = _Sketch(result, row, worst)
    sketch.draw()
    at = format_quantity(float(result.solved.frequency[row]), "Hz")
    failing = [part_label(name).lower() for name, finding in worst.items() if finding.state == "over"]
    spoken = f"Marked as over: {', '.join(failing)}." if failing else "No part is marked as over."
    spoken = f"From the tube at the left to the antenna at the right, values at {at}. {spoken}"
    return sketch.finished(prefix, f"Schematic, {band}, {at}", spoken)


class _Sketch:
    """One drawing in the making; `x` is how far the rail has come."""

    def __init__(self, result: Analysis, row: int, worst: Mapping[str, Finding]) -> None:
        import schemdraw
        import schemdraw.elements

        schemdraw.use("svg")
        self._elm: Any = schemdraw.elements
        self._drawing = schemdraw.Drawing(show=False)
        self._drawing.config(color=svg.INK, lw=1.5)
        self._study, self._row, self._worst = result, row, worst
        self._stresses = [point.parts for band in result.verdict.bands for point in band.points][row]
        self._values = result.solved.assembly.parts.take(slice(row, row + 1))
        self._x = 0.0
        self._left, self._top, self._bottom = -3.2, 4.0, -4.0
        self._texts: list[Markup] = []

    def finished(self, prefix: str, title: str, spoken: str) -> Markup:
        """Give the lines that were drawn and the notes beside them, in a view box that holds both."""
        width, height = self._x + 1.8 - self._left, self._top - self._bottom
        edges = (self._left, -self._top, width, height)
        return svg.finish(
            str(self._drawing.get_imagedata("svg").decode()),
            prefix,
            title,
            spoken,
            "schematic",
            view_box=" ".join(f"{edge * UNIT:.0f}" for edge in edges),
            overlay=Markup("").join(self._texts),
        )

    def draw(self) -> None:
        """Draw from tube to antenna; what is absent is a wire or not there."""
        values, settings, elm = self._values, self._study.solved.settings, self._elm
        self._tube()
        if values.has_suppressor:
            self._suppressor()
        if self._stresses["plate_choke"] is not None:
            self._choke()
        if values.has_blocking_capacitor:
            self._series(elm.Capacitor, "blocking_capacitor", values.blocking_capacitance, "F")
        self._leg(elm.CapacitorVar, "tune_capacitor", settings.tune[[self._row]], "F", values.tune_stray)
        if self._stresses["tune_padding"] is not None:
            self._leg(elm.Capacitor, "tune_padding", values.tune_padding, "F")
        start = self._x
        self._series(elm.Inductor, "coil", values.coil, "H")
        if self._stresses["band_switch"] is not None:
            self._band_switch(start, self._x)
        self._leg(elm.CapacitorVar, "load_capacitor", settings.load[[self._row]], "F", values.load_stray)
        if self._stresses["load_padding"] is not None:
            self._leg(elm.Capacitor, "load_padding", values.load_padding, "F")
        if values.topology == "pi-L":
            self._series(elm.Inductor, "output_coil", values.output_coil, "H")
        if self._stresses["output_choke"] is not None:
            self._leg(elm.Inductor, "output_choke", values.output_choke, "H")
        resistance = format_quantity(float(values.antenna_resistance[0]), "ohm")
        self._add(elm.Antenna().at((self._x, 0)))
        self._write(self._x, 2.1, Note(("Antenna", resistance)), "middle")

    def _add(self, element: Any, note: Note | None = None) -> None:
        """Draw an element, in the colour and weight of its note."""
        if note is not None and note.marked:
            element = element.color(svg.OVER if note.state == "over" else svg.CLOSE).linewidth(2.6)
        self._drawing.add(element)

    def _wire(self, to: float) -> None:
        """Lead the rail on to an x."""
        self._add(self._elm.Line().at((self._x, 0)).to((to, 0)))
        self._x = to

    def _write(self, x: float, y: float, note: Note, anchor: str = "start") -> None:
        self._top = max(self._top, y + 2 * LINE)
        self._bottom = min(self._bottom, y - note.height - 2 * LINE)
        self._texts.append(written(x, y, note, anchor))

    def _note(self, name: str, value: str, *more: str) -> Note:
        return part_note(name, value, self._stresses.get(name), self._worst.get(name), *more)

    def _tube(self) -> None:
        elm = self._elm
        # What settles or, of the pulse, what the voltage limit leaves: the figure of every table.
        current = format_quantity(float(self._study.solved.current.direct[self._row]), "A")
        note = stage_note(f"{current} DC", self._worst.get("stage"))
        self._add(elm.Line().at((0, 0)).to((0, -0.8)))
        tube = elm.Triode().anchor("anode").at((0, -0.8))
        self._add(tube, note)
        self._ground(elm.Line(), tube.cathode[0], tube.cathode[1])
        self._write(-1.15, -1.0, note, "end")
        if note.marked:
            self._left = -4.3
        capacitance = float(self._values.output_capacitance[0])
        if capacitance > 0:
            self._wire(1.7)
            self._ground(elm.Capacitor().color(svg.MUTED), self._x, 0.0)
            self._write(self._x + 0.45, -1.1, Note(("Output C", format_quantity(capacitance, "F"))))
        self._wire(self._x + 0.5)

    def _suppressor(self) -> None:
        start, end = self._x, self._x + 2.5
        inductance = format_quantity(float(self._values.suppressor_inductance[0]), "H")
        resistance = format_quantity(float(self._values.suppressor_resistance[0]), "ohm")
        stress = self._stresses["suppressor"]
        heat = [] if stress is None else [f"{format_quantity(stress.loss_watt, 'W')} in R"]
        note = self._note("suppressor", f"{inductance} ∥ {resistance}", *heat)
        for y, kind in ((0.0, self._elm.Inductor), (0.9, self._elm.Resistor)):
            self._add(kind().at((start, y)).to((end, y)), note)
        for x in (start, end):
            self._add(self._elm.Line().at((x, 0)).to((x, 0.9)))
        self._write(start - 1.4, 1.6 + note.height, note)
        self._x = end

    def _choke(self) -> None:
        elm = self._elm
        self._wire(self._x + 1.1)
        note = self._note("plate_choke", format_quantity(float(self._values.plate_choke[0]), "H"))
        self._add(elm.Dot().at((self._x, 0)))
        self._add(elm.Inductor().at((self._x, 0)).to((self._x, 3.0)), note)
        self._add(elm.Dot(open=True).at((self._x, 3.05)))
        supply = format_quantity(self._study.amplifier.description.stage.plate_voltage, "V")
        self._write(self._x, 3.6, Note((f"plate supply {supply} DC",)), "middle")
        self._write(self._x + 0.55, max(2.5, 0.55 + note.height), note)
        self._wire(self._x + 0.4)

    def _series(self, kind: Callable[..., Any], name: str, value: np.ndarray, unit: str) -> None:
        note = self._note(name, format_quantity(float(value[0]), unit))
        below = name == "blocking_capacitor"
        start, length = self._x, 2.2 if below else 2.8
        self._add(kind().at((start, 0)).to((start + length, 0)), note)
        self._x = start + length
        self._write(start - 0.5 if below else start + 0.3, -0.75 if below else 0.7 + note.height, note)
        self._wire(self._x + (0.9 if below else 0.3))

    def _band_switch(self, start: float, end: float) -> None:
        elm, note = self._elm, self._note("band_switch", "selects turns")
        middle, right, level = (start + end) / 2 - 0.2, end - 0.15, -1.0
        self._add(elm.Line(arrow="->").at((middle, level)).to((middle, -0.25)), note)
        self._add(elm.Switch().at((middle, level)).to((right, level)), note)
        self._add(elm.Line().at((right, level)).to((right, 0)), note)
        self._write(start + 0.3, level - 0.55, note)

    def _leg(
        self,
        kind: Callable[..., Any],
        name: str,
        value: np.ndarray,
        unit: str,
        stray: np.ndarray | None = None,
    ) -> None:
        shunted = stray is not None and float(stray[0]) > 0
        more = [f"+ {format_quantity(float(stray[0]), 'F')} stray"] if shunted and stray is not None else []
        note = self._note(name, format_quantity(float(value[0]), unit), *more)
        self._add(self._elm.Dot().at((self._x, 0)))
        self._ground(kind(), self._x, 0.0, note)
        self._write(self._x + 0.55, -0.75, note)
        self._wire(self._x + _LABEL_ROOM)

    def _ground(self, element: Any, x: float, y: float, note: Note | None = None) -> None:
        """Lead an element from a point down to chassis."""
        self._add(element.at((x, y)).to((x, _LEG)), note)
        self._add(self._elm.GroundChassis().at((x, _LEG)))
