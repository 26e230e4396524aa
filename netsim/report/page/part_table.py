"""What every part of one band carries, as a table: the highest over the band's frequencies."""

from collections.abc import Callable
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
from netsim.verdict.result import PART_NAMES, BandResult, Finding, PartStress


@dataclass(frozen=True)
class PartRow:
    """One part; voltages pk, currents rms."""

    anchor: str
    label: str
    value: str
    voltage: str
    rf_voltage: str
    unloaded_voltage: str
    current: str
    loss: str
    reactive_power: str
    state: str
    verdict: str


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
    """List the parts that one band has.

    Parameters
    ----------
    result : Analysis
        Solved.
    index : int
        Of the band in the result.
    rows : list of int
        Its networks.
    """
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

    def highest(take: Callable[[PartStress], float | None], unit: str, quantity: str = "") -> str:
        known = [value for stress in stresses if (value := take(stress)) is not None]
        return amount(max(known), unit, quantity) if known else NOTHING

    return PartRow(
        anchor=f"{band_anchor(index)}-{name}",
        label=part_label(name),
        value=value,
        voltage=highest(lambda s: s.voltage_peak_volt, "V", "voltage_peak"),
        rf_voltage=highest(lambda s: s.rf_voltage_peak_volt, "V", "rf_voltage_peak"),
        unloaded_voltage=highest(lambda s: s.unloaded_voltage_peak_volt, "V", "unloaded_voltage_peak"),
        current=highest(lambda s: s.current_rms_ampere, "A", "current_rms"),
        loss=highest(lambda s: s.loss_watt, "W"),
        reactive_power=highest(lambda s: s.reactive_power_volt_ampere, "VA"),
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
