"""What is written beside the parts of a schematic: name, value, stress, and the mark of what fails."""

from dataclasses import dataclass

from markupsafe import Markup

from netsim.description.formatting import format_quantity, percent
from netsim.report.notation import MARKS, WORDS, case_of, kind_of, part_label
from netsim.verdict.result import Finding, PartStress

UNIT = 36.0
"""Units of the drawing library in the SVG."""

LINE = 0.43
"""Distance of two lines of text, in units of the drawing library."""

_SHORT = {
    "part_unloaded_voltage": "V pk, antenna off",
    "part_tuning_voltage": "V pk while tuning",
    "coil_temperature": "temperature",
    "plate_dissipation": "dissipation",
}


@dataclass(frozen=True)
class Note:
    """Lines beside a part: the first names it, the second gives its value, `mark` tells what fails."""

    lines: tuple[str, ...]
    state: str = "pass"
    mark: tuple[str, ...] = ()

    @property
    def marked(self) -> bool:
        """Whether the part is to stand out."""
        return bool(self.mark)

    @property
    def height(self) -> float:
        """Distance from first to last line, in units of the drawing library."""
        return LINE * (len(self.lines) + len(self.mark) - 1)


def part_note(name: str, value: str, stress: PartStress | None, worst: Finding | None, *more: str) -> Note:
    """Write a part's note: value and `more`, stress at the frequency drawn, the band's worst if it is marked."""
    lines = [part_label(name), value, *more]
    if stress is not None:
        lines += [
            f"{format_quantity(stress.voltage_peak_volt, 'V')} pk",
            f"{format_quantity(stress.current_rms_ampere, 'A')} rms",
        ]
    return Note(tuple(lines), *_mark(worst))


def stage_note(value: str, worst: Finding | None) -> Note:
    """Write the tube's note."""
    return Note(("Tube", value), *_mark(worst))


def _mark(worst: Finding | None) -> tuple[str, tuple[str, ...]]:
    if worst is None or worst.state not in ("over", "close"):
        return "pass", ()
    used = "" if worst.used_fraction is None else f" {percent(worst.used_fraction)}"
    lines = [f"{MARKS[worst.state]} {WORDS[worst.state]}{used}", _SHORT.get(worst.code, kind_of(worst))]
    if worst.frequency_hertz is not None:
        lines.append(f"at {format_quantity(worst.frequency_hertz, 'Hz')}")
    if case_of(worst):
        lines.append(case_of(worst))
    if worst.operating_point is not None:
        lines.append("other operating point")
    return worst.state, tuple(lines)


def written(x: float, y: float, note: Note, anchor: str = "start") -> Markup:
    """Set a note at a place of the drawing, the middle of its first line at `y`; `anchor` as in SVG."""
    classes = [note.state if note.marked else "name", "name", *["stress"] * (len(note.lines) - 2)]
    texts = [*zip(note.lines, classes, strict=False), *((line, note.state) for line in note.mark)]
    rows = Markup("").join(
        Markup('<text x="{}" y="{}" class="{}">{}</text>').format(
            f"{x * UNIT:.0f}", f"{-(y - LINE * number) * UNIT + 4:.0f}", css_class, line
        )
        for number, (line, css_class) in enumerate(texts)
    )
    return Markup('<g text-anchor="{}">{}</g>').format(anchor, rows)
