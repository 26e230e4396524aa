"""What every part of one band carries, as a table: the highest over the band's frequencies."""

from dataclasses import dataclass

from netsim.analysis import Analysis
from netsim.circuit.elements import Capacitor, DampedInductor, Inductor
from netsim.circuit.ladder import Ladder
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.notation import (
    MARKS,
    WORDS,
    amount,
    aspect,
    band_anchor,
    condition_of,
    part_label,
)
from netsim.verdict.result import PART_NAMES, BandResult, Finding


@dataclass(frozen=True)
class PartRow:
    """One part, with what it carries in the order of `_CARRIED`; voltages pk, currents rms."""

    anchor: str
    label: str
    value: str
    carried: tuple[str, ...]
    state: str
    verdict: str


_CARRIED = (
    ("voltage_peak_volt", "V", "voltage_peak"),
    ("rf_voltage_peak_volt", "V", "rf_voltage_peak"),
    ("unloaded_voltage_peak_volt", "V", "unloaded_voltage_peak"),
    ("current_rms_ampere", "A", "current_rms"),
    ("loss_watt", "W", ""),
    ("reactive_power_volt_ampere", "VA", ""),
)
"""What a part carries: its name in the result, its unit, its quantity."""


def worst_by_part(result: Analysis, band: str) -> dict[str, Finding]:
    """Give, for each part and for the stage, the worst judged finding of a band."""
    worst: dict[str, Finding] = {}
    for finding in result.verdict.findings:  # worst first
        if finding.band != band or finding.state == "not_rated":
            continue
        present = worst.get(finding.part)
        # Within a state, a finding without a fraction leads only where it is over.
        if present is None or (
            present.state == finding.state != "over"
            and present.used_fraction is None
            and finding.used_fraction is not None
        ):
            worst[finding.part] = finding
    return worst


def part_table(result: Analysis, index: int, rows: list[int]) -> tuple[PartRow, ...]:
    """List the parts that one band of the result has; `rows` are its networks."""
    band = result.verdict.bands[index]
    worst = worst_by_part(result, band.name)
    ladders = [result.solved.ladder.single(row) for row in rows]
    return tuple(
        _row(band, index, name, _value(ladders, name), worst.get(name))
        for name in PART_NAMES
        if any(point.parts[name] is not None for point in band.points)
    )


def _row(band: BandResult, index: int, name: str, value: str, worst: Finding | None) -> PartRow:
    stresses = [stress for point in band.points if (stress := point.parts[name]) is not None]

    def highest(key: str, unit: str, quantity: str) -> str:
        known = [value for stress in stresses if (value := getattr(stress, key)) is not None]
        return amount(max(known), unit, quantity) if known else NOTHING

    return PartRow(
        anchor=f"{band_anchor(index)}-{name}",
        label=part_label(name),
        value=value,
        carried=tuple(highest(*column) for column in _CARRIED),
        state="not_rated" if worst is None else worst.state,
        verdict=_verdict(worst),
    )


def _verdict(worst: Finding | None) -> str:
    if worst is None:
        return f"{MARKS['not_rated']} {WORDS['not_rated']}"
    used = "" if worst.used_fraction is None else f" {percent(worst.used_fraction)},"
    return f"{MARKS[worst.state]} {WORDS[worst.state]}{used} {aspect(worst)}{condition_of(worst)}"


def _value(ladders: list[Ladder], name: str) -> str:
    """Write a part's value, from lowest to highest setting where it varies within the band."""
    texts = [_written(ladder, name) for ladder in ladders if name in ladder]
    if not texts:
        return NOTHING
    first, last = texts[0], texts[-1]
    return first if first == last else f"{first} to {last}"


def _written(ladder: Ladder, name: str) -> str:
    match ladder[name].element:
        case Capacitor(capacitance=capacitance):
            return format_quantity(float(capacitance[0]), "F")
        case Inductor(inductance=inductance):
            return format_quantity(float(inductance[0]), "H")
        case DampedInductor(inductance=inductance, resistance=resistance):
            coil, resistor = (
                format_quantity(float(inductance[0]), "H"),
                format_quantity(float(resistance[0]), "ohm"),
            )
            return f"{coil} ∥ {resistor}"
    return NOTHING
