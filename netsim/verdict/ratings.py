"""Every part's stress against its ratings."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.description.formatting import format_quantity
from netsim.verdict import remedies
from netsim.verdict.air_gap import gap_is_listed, gap_voltage
from netsim.verdict.judgement import Rows, state_of, worst
from netsim.verdict.result import PART_NAMES, Case, Finding
from netsim.verdict.solved import Evidence
from netsim.verdict.stress import Stress


@dataclass(frozen=True)
class Rule:
    """One kind of rating: which key limits which stress.

    Attributes
    ----------
    code, rating, quantity, unit : str
        Finding code, key in the file, name of the value in the result, unit.
    kind : str
        ``pk`` or ``rms`` where the amplitude needs saying, else empty.
    """

    code: str
    rating: str
    quantity: str
    unit: str
    kind: str
    case: Case = "matched"

    def values(self, stress: Stress) -> FloatArray:
        """Take the stress this rule limits, shape ``(networks,)``."""
        values: FloatArray = getattr(stress, self.quantity)
        return values

    def shown(self, value: float) -> str:
        """Write a value with unit and kind of amplitude."""
        return f"{format_quantity(value, self.unit)} {self.kind}".rstrip()


RULES = (
    Rule("part_voltage", "voltage_rating", "voltage_peak", "V", "pk"),
    Rule("part_unloaded_voltage", "voltage_rating", "unloaded_voltage_peak", "V", "pk", "while_tuning"),
    Rule("part_current", "current_rating", "current_rms", "A", "rms"),
    Rule("part_power", "power_rating", "loss", "W", ""),
    Rule("part_reactive_power", "reactive_power_rating", "reactive_power", "VA", ""),
)


def findings(evidence: Evidence) -> Iterator[Finding]:
    """Judge every part of the network against each rating it can have.

    Yields
    ------
    Finding
        One for each band, part and rating; one for each missing rating of a part that is there.
    """
    network = evidence.amplifier.description.network
    for name in PART_NAMES:
        part = getattr(network, name)
        stress = evidence.stress.get(name)
        padding = name.endswith("_padding")
        if stress is None or not stress.present.any() or (part is None and not padding):
            continue
        for rule in RULES:
            if rule.rating not in ratings_of(name):
                continue
            rating = effective_rating(part, rule.rating)
            if rating is not None:
                yield from _judge(evidence, name, rule, rating, stress)
            elif rule.case == "matched":
                yield _not_rated(evidence, name, rule, stress)


def effective_rating(part: object, key: str) -> float | None:
    """Give a part's rating, a capacitor's voltage from its air gap where no maker gave one; None if unknown."""
    rating: float | None = getattr(part, key, None)
    gap = getattr(part, "air_gap", None)
    if key == "voltage_rating" and rating is None and gap is not None:
        return float(gap_voltage(gap, getattr(part, "altitude", None) or 0.0))
    return rating


def gap_words(evidence: Evidence, name: str, rule: Rule) -> tuple[str, str]:
    """Say that a rating comes from an air gap, and give the key that holds it."""
    part = getattr(evidence.amplifier.description.network, name)
    gap = getattr(part, "air_gap", None)
    if rule.rating != "voltage_rating" or gap is None:
        return "", rule.rating
    beyond = "" if gap_is_listed(gap) else ", outside its table"
    return f" by its gap of {format_quantity(gap, 'm')} (handbook practice{beyond})", "air_gap"


def ratings_of(name: str) -> tuple[str, ...]:
    """Keys of the ratings that a part can have."""
    if name.endswith(("_capacitor", "_padding")):
        return "voltage_rating", "current_rating", "reactive_power_rating"
    return {
        "suppressor": ("power_rating",),
        "coil": ("current_rating", "power_rating"),
        "output_coil": ("current_rating", "power_rating"),
        "band_switch": ("current_rating", "voltage_rating"),
    }.get(name, ("current_rating",))


def _judge(evidence: Evidence, name: str, rule: Rule, rating: float, stress: Stress) -> Iterator[Finding]:
    close = evidence.amplifier.description.limits.close_to_rating
    duty = evidence.amplifier.description.stage.duty if rule.code == "part_power" else 1.0
    values = rule.values(stress) * duty
    mean = "" if duty == 1.0 else f" averaged over a duty of {duty:g}"
    source, key = gap_words(evidence, name, rule)
    label = name.replace("_", " ")
    for _, band, rows in evidence.bands():
        rows = rows[stress.present[rows]]
        if not rows.size:
            continue
        row = worst(values / rating, rows)
        value, used = float(values[row]), float(values[row] / rating)
        state = state_of(used, close)
        frequency = float(evidence.frequency[row])
        carried = f"{label}: {rule.shown(value)}{mean} at {format_quantity(frequency, 'Hz')}"
        yield Finding(
            code=rule.code,
            state=state,
            case=rule.case,
            band=band,
            frequency_hertz=frequency,
            part=name,
            quantity=rule.quantity,
            value=value,
            limit=rating,
            unit=rule.unit,
            used_fraction=used,
            message=f"{carried}{_case_words(rule)}, rated {rule.shown(rating)}{source} ({used:.0%})",
            why=_why(evidence, name, rule, stress, row),
            fix="" if state == "pass" else remedies.for_rating(evidence, name, rule.code, rating, value, row),
            line=evidence.line("network", name, key),
        )


def _not_rated(evidence: Evidence, name: str, rule: Rule, stress: Stress) -> Finding:
    every: Rows = np.flatnonzero(stress.present)
    row = worst(rule.values(stress), every)
    value = float(rule.values(stress)[row])
    label = name.replace("_", " ")
    if rule.code == "part_voltage":
        unloaded = float(stress.unloaded_voltage_peak[every].max())
        extra = f", up to {rule.shown(unloaded)} with the antenna off"
    else:
        extra = ""
    return Finding(
        code=rule.code,
        state="not_rated",
        case=rule.case,
        band=None,
        frequency_hertz=None,
        part=name,
        quantity=rule.quantity,
        value=None,
        limit=None,
        unit=rule.unit,
        used_fraction=None,
        message=f"{label}: no {rule.rating.replace('_', ' ')} in the file, so not judged",
        why=f"highest value found: {rule.shown(value)} at "
        f"{format_quantity(float(evidence.frequency[row]), 'Hz')}{extra}",
        fix=f'add {rule.rating} = "..." under [network.{name}], from the maker\'s data or a measurement',
        line=evidence.line("network", name),
    )


def _case_words(rule: Rule) -> str:
    return " with the antenna off" if rule.case == "while_tuning" else ""


def _why(evidence: Evidence, name: str, rule: Rule, stress: Stress, row: int) -> str:
    """Give the formula and the numbers behind one value."""
    stage = evidence.assembly.stage
    supply = format_quantity(stage.supply_voltage, "V")
    value = format_quantity(float(rule.values(stress)[row]), rule.unit)
    if name == "band_switch" and evidence.is_wound(row):
        what = (
            "the larger of the current through the closed contact (the coil's) and through the largest shorted loop"
            if rule.code == "part_current"
            else "from the tap in use to the contact, or free end, with the highest voltage against it"
        )
        return f"{what}: {value} {rule.kind}"
    match rule.code:
        case "part_voltage":
            rf = format_quantity(float(stress.rf_voltage_peak[row]), "V")
            if stress.voltage_peak[row] > stress.rf_voltage_peak[row]:
                return (
                    f"max |V_dc + v(t)|: supply {supply}, RF {rf} pk, together {value} pk over orders 1 to 10"
                )
            return f"max |v(t)| over one period, orders 1 to 10 with their phases: {value} pk"
        case "part_unloaded_voltage":
            direct = ", DC included" if stress.voltage_peak[row] > stress.rf_voltage_peak[row] else ""
            return (
                f"antenna off, tune capacitor re-dipped, plate swing equal to the supply ({supply}): "
                f"{value} pk{direct}"
            )
        case "part_current":
            direct = " and the DC plate current" if name in ("plate_choke", "suppressor") else ""
            return f"sqrt(sum of I_n^2 / 2) over orders 1 to 10{direct}: {value} rms"
        case "part_power" if name == "suppressor":
            inductance = format_quantity(float(evidence.assembly.parts.suppressor_inductance), "H")
            resistance = format_quantity(float(evidence.assembly.parts.suppressor_resistance), "ohm")
            return f"sum of V_n^2 / (2 R) across {inductance} and {resistance}: {value}; grows as f^4 L^2"
        case "part_power":
            current = format_quantity(float(stress.current_rms[row]), "A")
            return f"I^2 R of {current} rms in R = 2 pi f L / q, R growing as sqrt(n): {value}"
    return f"sum of I_n^2 / (4 pi n f C) over orders 1 to 10: {value}"
