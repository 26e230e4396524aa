"""The box around the network: grid, bias, drive, supply, heat, meters."""

import math

import numpy as np

from netsim.circuit.assembly import heat_path
from netsim.circuit.box.panel_meter import MOMENTARY, MOST_ERROR, PanelMeter
from netsim.description.formatting import percent
from netsim.verdict.box.cooling import mean_heat
from netsim.verdict.box.state import InputState, MeterState, SupplyState
from netsim.verdict.checks.box import CHOKE_OVER_INPUT
from netsim.verdict.judged import Judged, NotRated
from netsim.verdict.solved import Solved
from netsim.verdict.words.parts import SITUATIONS
from netsim.verdict.words.text import Text, against, at, label, written

_NO_GLITCH = "the file has neither glitch_resistor nor capacitor_resistance"
_ENERGY = {"inrush_resistor": "inrush_pulse_rating", "glitch_resistor": "glitch_pulse_rating"}


def grid(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the grid's mean current or heat."""
    noun = "grid current" if judged.check.code == "grid_current" else "grid heat"
    return Text(
        f"{noun}: {against(judged, row)} at {at(solved, row)}",
        "mean over one period of the tube's steady state with this network, all tubes together",
    )


def tuning_grid(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the grid's highest mean current or heat on the way to the match."""
    meters = next(meters for meters in solved.meters if meters.row == row)
    current = judged.check.code == "grid_current"
    worst = meters.grid_current if current else meters.grid_heat
    assert worst is not None
    place = f" at {at(solved, row)} while tuning ({SITUATIONS[worst.situation]})"
    return Text(
        f"grid {'current' if current else 'heat'}: {against(judged, row, place)}",
        "highest of the tube's steady states over both settings and with the antenna gone, drive unchanged, all tubes "
        f"together: tune {written(worst.tune, 'F')}, load {written(worst.load, 'F')}",
    )


def anode(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the anode's temperature, and what of it each piece of the way makes."""
    cooling, items = solved.description.cooling, heat_path(solved.description)
    assert cooling is not None
    heat = np.array(mean_heat(solved)[row])
    rises = [(float(item.rise(heat, cooling.ambient)), item.name) for item in items]
    most = max(rises)
    return Text(
        f"anode: {judged.value[row]:.0f} °C at {at(solved, row)}, limit {judged.limit[row]:.0f} °C "
        f"({percent(judged.used[row])} of the rise from {cooling.ambient:.0f} °C)",
        f"{written(float(heat), 'W')} through {len(items)} pieces in a row; the most is {most[0]:.0f} K across "
        f"{most[1]}, and half of its resistance would take {most[0] / 2:.0f} K off",
    )


def input_match(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what the exciter sees."""
    state = _input(solved)
    seen, tube = state.impedance[row], state.parts.tube_impedance[row]
    through = "through the input network" if state.parts.coil[row] > 0 else "without an input network"
    return Text(
        f"input: SWR {judged.value[row]:.2f} at {at(solved, row)} {through}, {judged.limit[row]:g} is the most that "
        "exciters are built for",
        f"the tube shows its drive {_complex(tube)}, the exciter sees {_complex(seen)}; solved with everything "
        "across the tube's input",
    )


def drive_power(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell how much the exciter has to give."""
    state = _input(solved)
    return Text(
        f"drive: {written(judged.value[row], 'W')} from the exciter at {at(solved, row)}, "
        f"{written(judged.limit[row], 'W')} available ({percent(judged.used[row])})",
        f"the tube takes {written(state.drive_power[row], 'W')} at {written(state.drive[row], 'V')} pk, the input "
        f"network {written(state.input_power[row] - state.drive_power[row], 'W')}, and an SWR of "
        f"{state.swr[row]:.2f} sends part of it back",
    )


def heater_choke(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the reactance of the heater's choke."""
    return Text(
        f"heater choke: {written(judged.value[row], 'ohm')} at {at(solved, row)}, below {CHOKE_OVER_INPUT:g} times "
        f"the {written(judged.limit[row] / CHOKE_OVER_INPUT, 'ohm')} that the cathode shows"
        if judged.over[row] or judged.near[row]
        else f"heater choke: {written(judged.value[row], 'ohm')} at {at(solved, row)}, "
        f"{judged.value[row] / judged.limit[row] * CHOKE_OVER_INPUT:.1f} times what the cathode shows",
        "it stands across the drive: below five times the input's resistance (common practice) it detunes the input "
        "and warms up",
    )


def bias(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the heat of what makes the bias."""
    assert solved.box is not None
    assert solved.box.bias is not None
    state, name = solved.box.bias, label(judged.check.part)
    return Text(
        f"{name}: {against(judged, row)} at full output",
        f"{written(-state.bias_volt, 'V')} with the cathode's {written(state.cathode_current_ampere, 'A')} through it, "
        "grid current included",
    )


def supply_voltage(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the solved voltage against that of the stage."""
    state = _supply(solved)
    value, wanted = float(judged.value[row]), float(judged.limit[row])
    loaded = judged.check.quantity == "full_load_voltage"
    noun, key = ("full output", "plate_voltage") if loaded else ("no load", "no_load_plate_voltage")
    drawn = f"{written(state.full_current, 'A')} of plate current and " if loaded else ""
    return Text(
        f"supply: {written(value, 'V')} at {noun}, {key} says {written(wanted, 'V')} ({value / wanted - 1:+.1%})",
        f"{drawn}what bleeder and equalizing resistors draw, through {written(state.circuit.resistance, 'ohm')} of "
        "windings; plate load and every rating go with the voltage that [stage] gives",
    )


def capacitor_voltage(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what each filter capacitor bears."""
    count = _supply(solved).circuit.capacitors
    unshared = count > 1 and math.isinf(_supply(solved).circuit.equalizer)
    return Text(
        f"filter capacitor: {against(judged, row)} without load",
        f"highest voltage of the supply over {count} in series"
        + ("; nothing shares it evenly, so one of them may bear more" if unshared else ", shared evenly"),
    )


def bleeder(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the heat of the bleeder."""
    state = _supply(solved)
    return Text(
        f"bleeder: {against(judged, row)} without load",
        f"{written(state.no_load_voltage, 'V')} squared over {written(state.circuit.bleeder, 'ohm')}; a bleeder that "
        "runs hot opens, and then the capacitors stay charged",
    )


def discharge(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell that nothing, or nothing but the bleeder, discharges the capacitors."""
    return discharge_words(solved)


def discharge_words(solved: Solved) -> Text:
    """Tell how long the model takes to a voltage that the owner gave, with the bleeder and without."""
    state, described = _supply(solved), solved.description.supply
    assert described is not None
    touch = written(described.touch_voltage or 0.0, "V")
    alone = (
        "the bleeder open: never, nothing else discharges it"
        if state.bleeder_open is None
        else f"the bleeder open: {state.bleeder_open:.3g} s by the equalizing resistors alone"
    )
    with_all = "never" if state.discharge is None else f"{state.discharge:.3g} s"
    return Text(
        f"supply: down to {touch} in {with_all}; with {alone}",
        "a model's figures: a bleeder can be open and nobody sees it. Unplug, wait, discharge through a resistor and "
        "short to chassis with an insulated stick, whatever is computed here",
    )


def energy(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the heat of one event in a resistor."""
    state = _supply(solved)
    if judged.check.part == "inrush_resistor":
        assert state.through_resistor is not None
        run = state.through_resistor
        return Text(
            f"inrush resistor: {against(judged, row)} at each switching on",
            f"{written(run.peak, 'A')} pk in the secondary instead of {written(state.without_resistor.peak, 'A')} pk, "
            f"switched at the mains' crest, until it is bridged after {run.bridged:.3g} s",
        )
    peak = "" if state.arc is None else f"{written(state.arc.peak, 'A')} pk, over after "
    duration = "" if state.arc is None else written(state.arc.duration, "s")
    return Text(
        f"glitch resistor: {against(judged, row)} in an arc at the plate",
        f"what {written(state.circuit.stored(state.no_load_voltage), 'J')} in the capacitors leave in it; "
        f"{peak}{duration}; a fuse that melts may go on arcing at these volts, so nothing is taken off for it",
    )


def meter_range(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what a meter has to show, or the heat of its resistors."""
    state = _meter(solved, judged)
    meter, name = state.meter, label(judged.check.part)
    noun = "shunt" if meter.is_current else "multiplier"
    if judged.check.quantity == "resistor_power":
        return Text(
            f"{name}: {against(judged, row)} in each resistor of the {noun} at the last mark",
            f"{written(meter.power, 'W')} in all, in {state.resistors_in_series or 1}",
        )
    error = meter.fitted_error
    if judged.check.quantity == "reading_error":
        assert error is not None
        assert meter.fitted is not None
        return Text(
            f"{name}: shows {abs(error):.1%} too {'much' if error > 0 else 'little'} by the {noun} fitted, "
            f"{written(meter.fitted, 'ohm')}; its scale needs {_needed(meter)}",
            f"Ohm and Kirchhoff, from a movement of {written(meter.movement, 'A')} and "
            f"{written(meter.movement_resistance, 'ohm')}; more than {MOST_ERROR:.0%} is more than panel meters are "
            "wrong by themselves (common practice)",
        )
    fitted = (
        f"with the {noun} for this scale, {written(meter.resistance, 'ohm')}"
        if error is None
        else f"with the {noun} fitted it shows {error:+.1%} of what is there"
    )
    return Text(
        f"{name}: would point to {written(judged.value[row], judged.unit)} on a scale that ends at "
        f"{written(judged.limit[row], judged.unit)} ({percent(judged.used[row])})",
        f"the most it has to show is {written(state.highest or 0.0, judged.unit)}; {fitted}",
    )


def meter_protection(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what an arc sends through a movement."""
    state = _meter(solved, judged)
    if state.arc_current is None:
        return Text(
            f"{label(judged.check.part)}: nothing but the wiring limits what an arc sends through the "
            f"movement, which stands {written(judged.limit[row], 'A')} for a moment",
            f"{_NO_GLITCH}; {MOMENTARY:g} times full scale for half a second (from memory: IEC 60051)",
        )
    shunt = "its shunt" if state.meter.fitted is not None else "no shunt"
    if solved.description.meters[state.index].diodes:
        return Text(
            f"{label(judged.check.part)}: diodes across it carry an arc's "
            f"{written(state.arc_current, 'A')} pk past the movement",
            "taken as fitted, as the file says; check that they stand the peak current of the arc",
        )
    return Text(
        f"{label(judged.check.part)}: an arc sends {written(judged.value[row], 'A')} pk through the "
        f"movement, which stands {written(judged.limit[row], 'A')} for a moment",
        f"{written(state.arc_current, 'A')} pk through {shunt} and the movement; {MOMENTARY:g} times full scale for "
        "half a second (from memory: IEC 60051); diodes across the movement, both ways, carry an arc past it",
    )


def not_rated(solved: Solved, unrated: NotRated) -> Text:
    """Tell which limit of the box is missing."""
    code, part = unrated.check.code, label(unrated.check.part)
    if code == "discharge_time" and not np.isnan(unrated.value[unrated.worst]):
        told = discharge_words(solved)
        return Text(
            told.message,
            told.why,
            "measure it yourself, and never trust it: no key says how long is too long",
        )
    if code == "discharge_time":
        return Text(
            "supply: no touch_voltage in the file, so no discharge time",
            "what counts as discharged is your local rule's to say, not a program's",
            'add touch_voltage = "..." under [supply]; and never trust a bleeder',
        )
    if code == "glitch_energy" and np.isnan(unrated.value[unrated.worst]):
        return Text(
            "glitch resistor: there is none, so nothing but the tube and the wiring limits an arc",
            f"{written(_supply(solved).circuit.stored(_supply(solved).no_load_voltage), 'J')} stand in the filter "
            "capacitors without load",
            'add glitch_resistor = "..." and glitch_pulse_rating under [supply]; netsim design proposes one',
        )
    if code == "meter_protection":
        return Text(
            f"{part}: diodes across it, and nothing but the wiring limits the arc that they have to carry",
            _NO_GLITCH,
            'add glitch_resistor = "..." under [supply]; netsim design proposes one',
        )
    key = {
        "grid_current": "grid_current_rating",
        "grid_dissipation": "grid_dissipation_rating",
        "drive_power": "available_power",
        "bias_power": "power_rating",
        "capacitor_voltage": "capacitor_voltage_rating",
        "bleeder_power": "bleeder_power_rating",
    }.get(code) or _ENERGY[unrated.check.part]
    return Text(
        f"{part}: no {key} in the file, so not judged",
        f"highest value found: {written(unrated.value[unrated.worst], unrated.unit)}",
        f'add {key} = "..." under [{unrated.key[0]}]',
    )


def _needed(meter: PanelMeter) -> str:
    if math.isnan(meter.resistance):
        return "a movement of less current: this one alone shows less"
    return "none" if math.isinf(meter.resistance) else written(meter.resistance, "ohm")


def _complex(value: complex) -> str:
    return f"{value.real:.3g} {'-' if value.imag < 0 else '+'} {abs(value.imag):.3g}j ohm"


def _input(solved: Solved) -> InputState:
    assert solved.box is not None
    assert solved.box.input is not None
    return solved.box.input


def _supply(solved: Solved) -> SupplyState:
    assert solved.box is not None
    assert solved.box.supply is not None
    return solved.box.supply


def _meter(solved: Solved, judged: Judged) -> MeterState:
    assert solved.box is not None
    return next(state for state in solved.box.meters if state.name == judged.check.part)
