"""Single changes that may mend a finding of the box around the network."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from netsim.advice.change import Edit, plain_edit, quantity_edit, written
from netsim.advice.preferred_values import SLIP, rating_for
from netsim.analysis.box.drive import design, take
from netsim.circuit.assembly import heat_path
from netsim.circuit.preferred_values import E12, E24, nearest, step_down, step_up
from netsim.description.assumed import completed
from netsim.description.models.amplifier import Description
from netsim.verdict.box.cooling import anode_temperature, mean_heat
from netsim.verdict.box.state import SupplyState
from netsim.verdict.checks.box import CHOKE_OVER_INPUT
from netsim.verdict.result import Finding
from netsim.verdict.solved import Solved

Scope = Literal["limits", "box", "supply", "network"]
"""What a change makes solve again: nothing, all but the supply, the supply as well, or everything."""

SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 8.0)
"""Ends of scales that panel meters have (common practice)."""

BETTER_INSULATORS = ("aluminium nitride", "alumina", "boron nitride")
"""In place of an insulator that is too warm; beryllia is not proposed, for its dust."""

_RATINGS: dict[tuple[str, str], tuple[tuple[str, str], str, str]] = {
    ("bias_power", "power"): (("bias", "power_rating"), "W", "a bias part rated"),
    ("bleeder_power", "power"): (("supply", "bleeder_power_rating"), "W", "a bleeder rated"),
    ("capacitor_voltage", "voltage_peak"): (
        ("supply", "capacitor_voltage_rating"),
        *("V", "filter capacitors rated"),
    ),
    ("drive_power", "exciter_power"): (("input", "available_power"), "W", "an exciter that gives"),
}
_PULSES = {
    "inrush_energy": ("inrush_pulse_rating", "an inrush resistor that stands"),
    "glitch_energy": ("glitch_pulse_rating", "a glitch resistor that stands"),
}
_DISCHARGED = 15.0  # seconds in which a new bleeder is to have emptied the capacitors
_LESS = (0.95, 0.9, 0.8)


@dataclass(frozen=True)
class Candidate:
    """Edits to try, in words, and what has to be solved again for them."""

    title: str
    edits: tuple[Edit, ...]
    scope: Scope


def candidates(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    """Yield what may mend one finding of the solved box, over or close, the smallest step first."""
    yield from _BY_CODE[finding.code](solved, finding)
    if (known := _RATINGS.get((finding.code, finding.quantity))) is not None:
        yield from _rating(finding, *known, solved.description)


def _pulse(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    key, words = _PULSES[finding.code]
    yield from _rating(finding, ("supply", key), "J", words, solved.description)
    yield from _less_stored(finding, solved.description)


def _as_solved(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    """Give the stage the voltage that the supply was solved to have."""
    name = "plate_voltage" if finding.quantity == "full_load_voltage" else "no_load_plate_voltage"
    edit = quantity_edit(("stage", name), finding.value or 0.0, "V")
    yield Candidate(f"{name} of {edit.text}, as solved", (edit,), "network")


def _less_current(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    if finding.case == "while_tuning":
        return  # what the drive does off the match, a few per cent of plate current do not take away
    present = solved.description.stage.plate_current
    for share in _LESS:
        edit = quantity_edit(("stage", "plate_current"), share * present, "A")
        title = f"{edit.text} of plate current instead of {written(present, 'A')}"
        yield Candidate(title, (edit,), "network")


def _rating(
    finding: Finding, path: tuple[str | int, ...], unit: str, words: str, description: Description
) -> Iterator[Candidate]:
    """Raise a rating to the next preferred number that holds."""
    value, limit = finding.value or 0.0, finding.limit or 0.0
    wanted = rating_for(value, description.limits.close_to_rating)
    edit, now = quantity_edit(path, wanted, unit), written(limit, unit)
    slip = f" (is {now} a slip?)" if wanted > SLIP * limit else ""
    yield Candidate(f"{words} {edit.text} instead of {now}{slip}", (edit,), "limits")


def _less_stored(finding: Finding, description: Description) -> Iterator[Candidate]:
    supply, used = description.supply, finding.used_fraction or 0.0
    if supply is not None and used > 0:
        wanted = step_down(supply.capacitance * description.limits.close_to_rating / used, E12)
        edit = quantity_edit(("supply", "capacitance"), wanted, "F")
        yield Candidate(
            f"{edit.text} in each filter capacitor instead of {written(supply.capacitance, 'F')}",
            (edit,),
            "supply",
        )


def _more_capacitors(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    description = solved.description
    supply, used = description.supply, finding.used_fraction or 0.0
    if supply is None:
        return
    step = 2 if supply.rectifier == "doubler" else 1
    count = supply.capacitors_in_series * used / description.limits.close_to_rating
    wanted = step * math.ceil(count / step * (1 - 1e-9))
    edit = plain_edit(("supply", "capacitors_in_series"), wanted)
    was = f"{supply.capacitors_in_series:g}"
    yield Candidate(f"{wanted} filter capacitors in series instead of {was}", (edit,), "supply")


def _larger_bleeder(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    description = solved.description
    supply, used = description.supply, finding.used_fraction or 0.0
    if supply is not None and supply.bleeder is not None:
        wanted = step_up(supply.bleeder * used / description.limits.close_to_rating, E24)
        edit = quantity_edit(("supply", "bleeder"), wanted, "ohm")
        yield Candidate(
            f"a bleeder of {edit.text} instead of {written(supply.bleeder, 'ohm')}", (edit,), "supply"
        )


def _discharging(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    """Put resistors across the capacitors: each to its own, so that an open bleeder leaves them."""
    supply, state = solved.description.supply, None if solved.box is None else solved.box.supply
    if supply is None or state is None or supply.touch_voltage is None:
        return
    count, across = state.circuit.capacitors, bleeder_for(state, supply.touch_voltage)
    edits = [quantity_edit(("supply", "equalizing_resistance"), nearest(4 * across / count, E24), "ohm")]
    words = f"{edits[0].text} across each filter capacitor"
    if finding.state == "over":
        edits.append(quantity_edit(("supply", "bleeder"), nearest(across, E24), "ohm"))
        words += f" and a bleeder of {edits[1].text}"
    yield Candidate(words, tuple(edits), "supply")


def bleeder_for(state: SupplyState, touch: float | None) -> float:
    """Return the resistance that discharges the capacitors in a quarter of a minute [ohm].

    Down to a voltage to be touched [V]; to a tenth where the file does not say.
    """
    ratio = 10.0 if touch is None else max(state.no_load_voltage / touch, 1.5)
    return _DISCHARGED / (state.circuit.capacitance * math.log(ratio))


def _larger_choke(solved: Solved, _: Finding) -> Iterator[Candidate]:
    """Take the choke that the lowest frequency asks for, for one choke serves all bands."""
    described, state = solved.description.input, None if solved.box is None else solved.box.input
    if described is None or described.heater_choke is None or state is None:
        return
    least = CHOKE_OVER_INPUT * state.tube_resistance / (2 * np.pi * solved.frequency)
    edit = quantity_edit(("input", "heater_choke"), step_up(float(np.nanmax(least)), E12), "H")
    was = written(described.heater_choke, "H")
    yield Candidate(f"a heater choke of {edit.text} instead of {was}", (edit,), "box")


def _matched(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    """Put parts of preferred values into the band's input network, or a network where there is none."""
    described, state = completed(solved.description).input, None if solved.box is None else solved.box.input
    if described is None or state is None:
        return
    if described.topology == "none":
        edit = plain_edit(("input", "topology"), "pi")
        yield Candidate("a pi between exciter and tube, of preferred values", (edit,), "box")
        return
    for index, name, rows in solved.bands():
        if name == finding.band and (found := design(described, take(state.parts, rows))) is not None:
            edits = input_edits(index, *found)
            words = f"an input pi of {edits[0].text}, {edits[1].text} at the exciter and {edits[2].text} at the tube"
            yield Candidate(words, edits, "box")


def input_edits(band: int, coil: float, at_exciter: float, at_tube: float) -> tuple[Edit, ...]:
    """Return what gives a band's input network its coil [H] and both capacitors [F]."""
    return (
        quantity_edit(("bands", band, "input_coil"), coil, "H"),
        quantity_edit(("bands", band, "input_source_capacitor"), at_exciter, "F"),
        quantity_edit(("bands", band, "input_tube_capacitor"), at_tube, "F"),
    )


def _cooler(solved: Solved, _: Finding) -> Iterator[Candidate]:
    """Take half of what each piece of the way resists, the largest first, as far as a file can say it."""
    cooling = solved.description.cooling
    assert cooling is not None
    row = int(anode_temperature(solved).argmax())
    heat = float(mean_heat(solved)[row])
    items = heat_path(solved.description)
    order = sorted(range(len(items)), key=lambda k: -items[k].resistance(heat, cooling.ambient))
    for k in order:
        item, path = items[k], ("cooling", "path", k)
        counts = item.electrical and any(other.adds_to_output_capacitance for other in items)
        scope: Scope = "network" if counts else "limits"
        if item.electrical and item.material is not None:
            for material in BETTER_INSULATORS:
                if material == item.material:
                    break  # the others are no better
                yield Candidate(
                    f"{material} instead of {item.material} as {item.name}",
                    (plain_edit((*path, "material"), material),),
                    scope,
                )
        if item.thermal_resistance is not None:
            edit = quantity_edit((*path, "thermal_resistance"), item.thermal_resistance / 2, "K/W", 2)
            was = written(item.thermal_resistance, "K/W")
            yield Candidate(f"{item.name} of {edit.text} instead of {was}", (edit,), "limits")
        elif item.area is not None:
            edit = quantity_edit((*path, "area"), 2 * item.area, "m^2")
            yield Candidate(f"{item.name} of twice the area", (edit,), scope)
        elif item.fins is not None:
            edit = plain_edit((*path, "fins"), 2 * round(item.fins))
            yield Candidate(f"{item.name} with {edit.value} fins instead of {item.fins:g}", (edit,), "limits")


def _meter(solved: Solved, finding: Finding) -> Iterator[Candidate]:
    for state in () if solved.box is None else solved.box.meters:
        if state.name != finding.part:
            continue
        meter, path = state.meter, ("meters", state.index)
        unit = {"plate voltage": "V", "output": "W"}.get(meter.reads, "A")
        if finding.code == "meter_protection":
            edit = plain_edit((*path, "diodes"), True)
            yield Candidate("diodes across movement and shunt, one each way", (edit,), "limits")
        elif finding.quantity == "resistor_power":
            rating = (*path, "resistor_power_rating")
            yield from _rating(finding, rating, "W", "resistors rated", solved.description)
        elif finding.quantity == "reading_error":
            key = "shunt" if meter.is_current else "multiplier"
            for fit in meter.preferred.values():
                parts = " and ".join(written(ohm, "ohm") for ohm in fit.values)
                together = " in parallel" if len(fit.values) > 1 else ""
                edit = quantity_edit((*path, key), fit.resistance, "ohm")
                words = f"a {key} of {parts}{together} instead of {written(meter.fitted or 0.0, 'ohm')}"
                yield Candidate(words, (edit,), "box")
        elif state.highest is not None:
            key = "shunt" if meter.is_current else "multiplier"
            wanted = meter.resistance
            if meter.fitted is not None and state.highest < meter.full_scale and wanted > 0:
                edit = quantity_edit((*path, key), nearest(wanted, E24), "ohm")
                yield Candidate(f"a {key} of {edit.text}", (edit,), "box")
            scale = step_up(state.highest * 1.1, SCALES)
            edits = [quantity_edit((*path, "full_scale"), scale, unit)]
            if meter.fitted is not None:
                edits.append(Edit((*path, key), None, None))
            yield Candidate(f"a scale to {edits[0].text}, with the {key} for it", tuple(edits), "box")


_BY_CODE: dict[str, Callable[[Solved, Finding], Iterator[Candidate]]] = {
    "inrush_energy": _pulse,
    "glitch_energy": _pulse,
    "capacitor_voltage": _more_capacitors,
    "bleeder_power": _larger_bleeder,
    "discharge_time": _discharging,
    "supply_voltage": _as_solved,
    "heater_choke": _larger_choke,
    "input_match": _matched,
    "drive_power": _matched,
    "anode_temperature": _cooler,
    "meter_range": _meter,
    "meter_protection": _meter,
    "grid_current": _less_current,
    "grid_dissipation": _less_current,
    "bias_power": lambda *_: iter(()),
}
