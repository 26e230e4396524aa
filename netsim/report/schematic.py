"""The schematic of one network, values on its parts, failing parts marked by colour, mark and word."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from netsim.description.formatting import format_quantity
from netsim.study import Study
from netsim.verdict.result import Finding, PartStress

from . import svg
from .notation import MARKS, WORDS, aspect, part_label, percent

_UNIT = 36.0  # svg units per drawing unit
_LEG = -3.0
_LABEL_ROOM = 3.5
_LINE = 0.43
_SHORT = {"part_unloaded_voltage": "V pk, antenna off"}


@dataclass(frozen=True)
class SchematicFigure:
    """The drawing; its numbers stand in the part table."""

    drawing: Markup


def _at(finding: Finding) -> str:
    return "" if finding.frequency_hertz is None else f"at {format_quantity(finding.frequency_hertz, 'Hz')}"


@dataclass(frozen=True)
class _Note:
    """What stands beside a part: its lines, its colour, whether it is marked."""

    lines: tuple[str, ...]
    colour: str
    marked: bool


def schematic_figure(
    study: Study, row: int, prefix: str, band: str, worst: dict[str, Finding]
) -> SchematicFigure:
    """Draw one network.

    Parameters
    ----------
    study : Study
        Solved.
    row : int
        Which network; gives values and settings.
    prefix : str
        For ids.
    band : str
        The user's name of the band, for the title only.
    worst : dict of str to Finding
        By part, the worst finding of the band.
    """
    stresses = [point.parts for entry in study.result.bands for point in entry.points][row]
    sketch = _Sketch(study, row, stresses, worst)
    view_box = sketch.draw()
    at = format_quantity(float(study.evidence.frequency[row]), "Hz")
    failing = [part_label(name).lower() for name, f in worst.items() if f.state == "over"]
    spoken = f"Marked as over: {', '.join(failing)}." if failing else "No part is marked as over."
    return SchematicFigure(
        svg.finish(
            sketch.drawn(),
            prefix,
            f"Schematic, {band}, {at}",
            f"From the tube at the left to the antenna at the right, values at {at}. {spoken}",
            "schematic",
            view_box,
        )
    )


class _Sketch:
    """One drawing in the making; `x` is how far the rail has come."""

    def __init__(
        self, study: Study, row: int, stresses: dict[str, PartStress | None], worst: dict[str, Finding]
    ) -> None:
        import schemdraw

        # Text stays text, so that it can be read, searched and styled.
        schemdraw.use("svg")
        schemdraw.svgconfig.text = "text"
        self._drawing = schemdraw.Drawing(show=False)
        self._drawing.config(color=svg.INK, lw=1.5, fontsize=11)
        self._study, self._row, self._stresses, self._worst = study, row, stresses, worst
        self._values = study.evidence.assembly.parts.take(slice(row, row + 1))
        self._x = 0.0
        self._top, self._bottom = 4.0, -4.0

    def drawn(self) -> str:
        """Give what was drawn."""
        return str(self._drawing.get_imagedata("svg").decode())

    def draw(self) -> str:
        """Draw from tube to antenna and give the view box that holds everything."""
        import schemdraw.elements as elm

        values, settings = self._values, self._study.evidence.settings
        self._tube(elm)
        if values.has_suppressor:
            self._suppressor(elm)
        if self._stresses["plate_choke"] is not None:
            self._choke(elm)
        if values.has_blocking_capacitor:
            self._series(elm.Capacitor, "blocking_capacitor", float(values.blocking_capacitance[0]), "F", 2.2)
        self._leg(
            elm, elm.CapacitorVar, "tune_capacitor", float(settings.tune[self._row]), "F", values.tune_stray
        )
        if self._stresses["tune_padding"] is not None:
            self._leg(elm, elm.Capacitor, "tune_padding", float(values.tune_padding[0]), "F")
        coil_start = self._x
        self._series(elm.Inductor, "coil", float(values.coil[0]), "H", 2.8)
        if self._stresses["band_switch"] is not None:
            self._band_switch(elm, coil_start, self._x)
        self._leg(
            elm, elm.CapacitorVar, "load_capacitor", float(settings.load[self._row]), "F", values.load_stray
        )
        if self._stresses["load_padding"] is not None:
            self._leg(elm, elm.Capacitor, "load_padding", float(values.load_padding[0]), "F")
        if values.topology == "pi-L":
            self._series(elm.Inductor, "output_coil", float(values.output_coil[0]), "H", 2.8)
        if self._stresses["output_choke"] is not None:
            self._leg(elm, elm.Inductor, "output_choke", float(values.output_choke[0]), "H")
        self._antenna(elm)
        left, right = -4.3, self._x + 1.8
        top, bottom = self._top, self._bottom
        return f"{left * _UNIT:g} {-top * _UNIT:g} {(right - left) * _UNIT:.6g} {(top - bottom) * _UNIT:.6g}"

    def _add(self, element: Any) -> None:
        self._drawing.add(element)

    def _wire(self, elm: Any, to: float) -> None:
        """Lead the rail on to an x."""
        self._add(elm.Line().at((self._x, 0)).to((to, 0)))
        self._x = to

    def _write(self, elm: Any, x: float, y: float, note: _Note, align: str = "left") -> None:
        """Write lines below each other, the first at y; the first in ink, a mark in its colour."""
        self._top = max(self._top, y + 2 * _LINE)
        self._bottom = min(self._bottom, y - _LINE * (len(note.lines) + 1))
        for number, line in enumerate(note.lines):
            marked = note.marked and (number == 0 or number >= len(note.lines) - 3)
            colour = note.colour if marked else svg.INK if number < 2 else svg.MUTED
            label = (
                elm.Label()
                .at((x, y - _LINE * number))
                .label(line, loc="center", halign=align, valign="center", color=colour, fontsize=11)
            )
            self._add(label)

    def _note(self, name: str, value: str, extra: str = "") -> _Note:
        stress, finding = self._stresses.get(name), self._worst.get(name)
        lines = [part_label(name), value, *([extra] if extra else [])]
        if stress is not None:
            lines += [
                f"{format_quantity(stress.voltage_peak_volt, 'V')} pk",
                f"{format_quantity(stress.current_rms_ampere, 'A')} rms",
            ]
        if finding is None or finding.state not in ("over", "close"):
            return _Note(tuple(lines), svg.INK, False)
        used = "" if finding.used_fraction is None else f" {percent(finding.used_fraction)}"
        lines.append(f"{MARKS[finding.state]} {WORDS[finding.state]}{used}")
        lines += [_SHORT.get(finding.code, aspect(finding)), _at(finding)]
        return _Note(tuple(lines), svg.OVER if finding.state == "over" else svg.CLOSE, True)

    def _tube(self, elm: Any) -> None:
        stage = self._study.description.amplifier.stage
        self._add(elm.Line().at((0, 0)).to((0, -0.8)))
        tube = elm.Triode().anchor("anode").at((0, -0.8))
        self._add(tube)
        self._add(elm.Line().at(tube.cathode).to((tube.cathode[0], -3.0)))
        self._add(elm.GroundChassis().at((tube.cathode[0], -3.0)))
        finding = self._worst.get("stage")
        over = finding is not None and finding.state == "over"
        marks = (
            [f"{MARKS['over']} over {percent(finding.used_fraction)}", "dissipation", _at(finding)]
            if finding and over
            else []
        )
        lines = ["Tube", f"{format_quantity(stage.plate_current, 'A')} DC", *marks]
        self._write(elm, -1.15, -1.0, _Note(tuple(lines), svg.OVER if over else svg.INK, over), "right")
        capacitance = float(self._values.output_capacitance[0])
        if capacitance > 0:
            self._wire(elm, 1.7)
            self._grounded(elm, elm.Capacitor, self._x, svg.MUTED)
            note = _Note(("Output C", format_quantity(capacitance, "F")), svg.MUTED, False)
            self._write(elm, self._x + 0.45, -1.1, note)
        self._wire(elm, self._x + 0.4)

    def _suppressor(self, elm: Any) -> None:
        start, end = self._x + 0.1, self._x + 2.6
        values = self._values
        inductance = format_quantity(float(values.suppressor_inductance[0]), "H")
        resistance = format_quantity(float(values.suppressor_resistance[0]), "ohm")
        note = self._note("suppressor", f"{inductance} ∥ {resistance}")
        loss = self._stresses["suppressor"]
        if loss is not None:
            heat = f"{format_quantity(loss.loss_watt, 'W')} in R"
            note = _Note((*note.lines[:2], heat, *note.lines[3:]), note.colour, note.marked)
        self._wire(elm, start)
        for y, kind in ((0.0, elm.Inductor), (0.9, elm.Resistor)):
            self._add(self._coloured(kind(), note).at((start, y)).to((end, y)))
        for x in (start, end):
            self._add(elm.Line().at((x, 0)).to((x, 0.9)))
        self._write(elm, start - 1.4, 1.7 + _LINE * (len(note.lines) - 1), note)
        self._x = end

    def _choke(self, elm: Any) -> None:
        self._wire(elm, self._x + 1.1)
        value = format_quantity(float(self._values.plate_choke[0]), "H")
        note = self._note("plate_choke", value)
        self._add(elm.Dot().at((self._x, 0)))
        self._add(self._coloured(elm.Inductor(), note).at((self._x, 0)).to((self._x, 3.0)))
        supply = self._study.description.amplifier.stage.plate_voltage
        self._add(elm.Dot(open=True).at((self._x, 3.05)))
        self._write(
            elm,
            self._x,
            3.6,
            _Note((f"plate supply {format_quantity(supply, 'V')} DC",), svg.INK, False),
            "center",
        )
        self._write(elm, self._x + 0.55, max(2.5, 0.6 + _LINE * (len(note.lines) - 1)), note)
        self._wire(elm, self._x + 0.4)

    def _series(self, kind: Callable[..., Any], name: str, value: float, unit: str, length: float) -> None:
        import schemdraw.elements as elm

        note = self._note(name, format_quantity(value, unit))
        start = self._x
        self._add(self._coloured(kind(), note).at((start, 0)).to((start + length, 0)))
        self._x = start + length
        below = name == "blocking_capacitor"
        top = -0.75 if below else 0.75 + _LINE * (len(note.lines) - 1)
        self._write(elm, start + (-0.5 if below else 0.3), top, note)
        self._wire(elm, self._x + (0.9 if below else 0.3))

    def _band_switch(self, elm: Any, start: float, end: float) -> None:
        note = self._note("band_switch", "selects turns")
        middle, level = (start + end) / 2 - 0.2, -1.0
        self._add(elm.Line(arrow="->").at((middle, level)).to((middle, -0.25)).color(note.colour))
        self._add(self._coloured(elm.Switch(), note).at((middle, level)).to((end - 0.15, level)))
        self._add(elm.Line().at((end - 0.15, level)).to((end - 0.15, 0)).color(note.colour))
        self._write(elm, start + 0.3, level - 0.55, note)

    def _leg(
        self, elm: Any, kind: Callable[..., Any], name: str, value: float, unit: str, stray: Any = None
    ) -> None:
        extra = ""
        if stray is not None and float(stray[0]) > 0:
            extra = f"+ {format_quantity(float(stray[0]), 'F')} stray"
        note = self._note(name, format_quantity(value, unit), extra)
        self._add(elm.Dot().at((self._x, 0)))
        self._grounded(elm, kind, self._x, note.colour, note.marked)
        self._write(elm, self._x + 0.55, -0.75, note)
        self._wire(elm, self._x + _LABEL_ROOM)

    def _grounded(
        self, elm: Any, kind: Callable[..., Any], x: float, colour: str, marked: bool = False
    ) -> None:
        element = kind().at((x, 0)).to((x, _LEG)).color(colour)
        self._add(element.linewidth(2.6) if marked else element)
        self._add(elm.GroundChassis().at((x, _LEG)).color(svg.INK))

    def _antenna(self, elm: Any) -> None:
        resistance = format_quantity(float(self._values.antenna_resistance[0]), "ohm")
        self._add(elm.Antenna().at((self._x, 0)))
        self._write(elm, self._x, 2.1, _Note(("Antenna", resistance), svg.INK, False), "center")

    @staticmethod
    def _coloured(element: Any, note: _Note) -> Any:
        return element.color(note.colour).linewidth(2.6) if note.marked else element
