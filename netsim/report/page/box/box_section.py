"""The box around the network, table by table of the file: bias and first power-up, drive, supply, heat, meters."""

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.circuit.box.panel_meter import MOST_ERROR
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.box_words import (
    beryllia_warnings,
    discharge_times,
    meter_unit,
    needed_resistor,
    time_until,
)
from netsim.report.figures.box.curve_figure import draw_curve_points
from netsim.report.figures.box.drive_figure import draw_input_swr, draw_power_up
from netsim.report.figures.box.heat_figure import draw_heat_path
from netsim.report.figures.box.supply_figure import draw_arc, draw_switch_on
from netsim.report.notation import MARKS, WORDS, amperes, farads, joules, ohms, seconds, volts, watts
from netsim.verdict.box.result import (
    STOP_ABOVE,
    BiasResult,
    CoolingResult,
    InputResult,
    MeterResult,
    PowerUpStep,
    SupplyResult,
)
from netsim.verdict.box.state import SupplyState

_DRIVE = {0.0: "idle", 0.5: "half drive", 1.0: "full drive"}


@dataclass(frozen=True)
class Sheet:
    """A small table: its caption, column headings, and rows whose first cell is their heading."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Drawing:
    """A figure and what is said under it."""

    caption: str
    shapes: Markup


@dataclass(frozen=True)
class BoxPart:
    """One table of the file; ``hand`` tells that it leads a hand into the box, so that cautions stand before it."""

    anchor: str
    heading: str
    hand: bool
    facts: tuple[tuple[str, str], ...]
    sheets: tuple[Sheet, ...]
    drawings: tuple[Drawing, ...]
    notes: tuple[str, ...] = ()


def box_section(result: Analysis) -> tuple[BoxPart, ...]:
    """Return what the page says of the box; nothing where the file has no table of it."""
    found, solved = result.verdict.box, result.solved
    parts: list[BoxPart] = []
    if found.bias is not None:
        parts.append(_bias(result, found.bias))
    if found.input:
        parts.append(_input(found.input))
    if found.supply is not None and solved.box is not None and solved.box.supply is not None:
        parts.append(_supply(found.supply, solved.box.supply))
    cooling = solved.description.cooling
    if found.cooling is not None and cooling is not None:
        parts.append(_cooling(found.cooling, cooling.ambient, cooling.anode_temperature_limit))
    if found.meters:
        parts.append(_meters(found.meters))
    return tuple(parts)


def _bias(result: Analysis, found: BiasResult) -> BoxPart:
    facts = [
        ("Bias", volts(found.bias_volt)),
        (
            f"Idle, without drive, at {volts(found.idle_plate_volt)}",
            f"{amperes(found.idle_current_ampere)}, {watts(found.idle_dissipation_watt)}",
        ),
        ("Cathode current, full output", amperes(found.cathode_current_ampere)),
    ]
    if found.zener is not None:
        facts.append(("Zener or transistor", f"{volts(found.zener.volt)}, {watts(found.zener.watt)}"))
    if found.cathode_resistor is not None:
        made = found.cathode_resistor
        idling = f"{volts(made.idle_bias_volt)}, {amperes(made.idle_current_ampere)}"
        told = (
            f"{ohms(made.ohm)}, {watts(made.watt)}; it idles at {idling}, {watts(made.idle_dissipation_watt)}"
        )
        facts.append(("Or a cathode resistor", told))
    power_up = found.power_up
    stops = [
        f"{name.rpartition('_')[0].replace('_', ' ')} {format_quantity(value, unit)}"
        for (name, value), unit in zip(power_up.stop.items(), ("W", "A", "W", "A"), strict=True)
        if value is not None
    ]
    sheets = (
        Sheet(
            "Supply up in steps, no drive",
            ("Plate", "Current", "Heat", "Meters show"),
            tuple(
                (
                    volts(step.plate_volt),
                    amperes(step.plate_current_ampere),
                    watts(step.dissipation_watt),
                    _shown(step),
                )
                for step in power_up.supply
            ),
        ),
        Sheet(
            f"Then drive, on {power_up.band}, tuned; driven at plate_voltage, the voltage under load",
            ("Drive", "Plate", "Current", "Grid", "Output", "Heat", "Meters show"),
            tuple(
                (
                    _DRIVE.get(step.fraction, f"{step.fraction:.0%}"),
                    volts(step.plate_volt),
                    amperes(step.plate_current_ampere),
                    amperes(step.grid_current_ampere),
                    watts(step.output_watt),
                    watts(step.dissipation_watt),
                    _shown(step),
                )
                for step in power_up.drive
            ),
        ),
    )
    shapes = draw_power_up(power_up, "power-up")
    drawings = (*_curves(result), Drawing("Plate current as the supply comes up without drive.", shapes))
    note = (
        f"Stop where a meter shows more than {percent(STOP_ABOVE)} of its step (common practice), or at "
        f"{', '.join(stops)}."
    )
    facts += _fitted(result)
    return BoxPart("box-bias", "Bias and first power-up", True, tuple(facts), sheets, drawings, (note,))


def _fitted(result: Analysis) -> Iterator[tuple[str, str]]:
    """Tell the tube's constants, and how well they fit the curves where they come from any."""
    tube = result.verdict.tube
    if tube is None:
        return
    known = [
        f"{name.replace('_', ' ')} {value:.4g}" for name, value in tube.constants.items() if value is not None
    ]
    yield "Constants of each tube", ", ".join(known)
    if tube.residual_rms is not None and tube.worst_point is not None:
        worst = tube.worst_point
        miss = "" if worst.miss is None else f", by {worst.miss:+.1%}"
        yield (
            "They miss the curve points by",
            f"{tube.residual_rms:.1%} rms; most at entry {worst.index + 1}, {volts(worst.plate_volt)} "
            f"and {volts(worst.grid_volt)}{miss}",
        )


def _curves(result: Analysis) -> Iterator[Drawing]:
    state, described = result.solved.tube_state, result.solved.description.tube
    if state is None or state.fit is None or described is None:
        return
    shapes = draw_curve_points(state.tube.single(0), described.curve_points, state.fit.worst, "curves")
    yield Drawing("The curve points of the file on the fitted curves; triangle: the one missed most.", shapes)


def _shown(step: PowerUpStep) -> str:
    reads = {name.partition("_meter")[0].replace("_", " "): value for name, value in step.shows.items()}
    shown = (f"{name} {format_quantity(value, meter_unit(name))}" for name, value in reads.items())
    return ", ".join(shown) or NOTHING


def _input(rows: tuple[InputResult, ...]) -> BoxPart:
    def parts(row: InputResult) -> str:
        if row.coil_henry is None:
            return NOTHING
        coil = format_quantity(row.coil_henry, "H")
        mark = " *" if row.designed else ""
        return f"{coil}, {farads(row.source_capacitor_farad)}, {farads(row.tube_capacitor_farad)}{mark}"

    sheet = Sheet(
        "At full output",
        ("Band", "MHz", "Tube shows", "Drive", "Exciter", "SWR", "Loaded Q", "Coil, exciter’s C, tube’s C"),
        tuple(
            (
                row.band,
                f"{row.frequency_hertz / 1e6:.6g}",
                _complex(*row.tube_impedance_ohm),
                watts(row.drive_watt),
                watts(row.exciter_watt),
                f"{row.swr:.2f}",
                NOTHING if row.loaded_q is None else f"{row.loaded_q:.1f}",
                parts(row),
            )
            for row in rows
        ),
    )
    notes: tuple[str, ...] = ("Exciter: the available power it takes, loss and mismatch counted.",)
    if any(row.designed for row in rows):
        notes += ("* The file gives no parts: these are netsim’s, in preferred values (IEC 60063).",)
    caption = "SWR that the exciter sees; marks at 1.5 and 2 (common practice)."
    drawings = (Drawing(caption, draw_input_swr(rows, "input-swr")),)
    return BoxPart("box-input", "Drive", False, (), (sheet,), drawings, notes)


def _supply(found: SupplyResult, state: SupplyState) -> BoxPart:
    arc = found.arc
    loads = (found.no_load_volt, found.idle_volt, found.full_load_volt)
    takes = "" if found.inrush_joule is None else f"; {joules(found.inrush_joule)} in the resistor"
    facts = [
        ("No load, idle, full output", ", ".join(map(volts, loads))),
        ("Ripple at full output", f"{volts(found.ripple_volt)} peak to peak"),
        (
            "Secondary",
            f"{amperes(found.secondary_rms_ampere)} rms, {amperes(found.secondary_peak_ampere)} pk",
        ),
        (
            "At switch-on",
            f"{amperes(found.inrush_peak_ampere)} pk, without a resistor "
            f"{amperes(found.inrush_peak_without_ampere)} pk{takes}",
        ),
        ("Stored", joules(found.stored_joule)),
        ("Each capacitor", f"{volts(found.capacitor_volt)} pk"),
        ("Bleeder", watts(found.bleeder_watt)),
        (
            "An arc at the plate",
            f"{'nothing limits it' if arc.peak_ampere is None else amperes(arc.peak_ampere) + ' pk'}, "
            f"over after {seconds(arc.duration_second)}: {joules(arc.glitch_joule)} in the "
            f"glitch resistor, {joules(arc.tube_joule)} in the tube",
        ),
    ]
    if found.touch_volt is not None:
        with_all, alone = discharge_times(found)
        told = (
            f"The model is down to {volts(found.touch_volt)} after",
            f"{with_all}; with the bleeder open {alone}",
        )
        facts.insert(-1, told)
    if arc.fuse_melts_second is not None:
        facts.append(("The fuse melts after", f"{seconds(arc.fuse_melts_second)}; it may go on arcing"))
    caption = "Filter capacitors from switching on; dashed: without the inrush resistor."
    drawings = [Drawing(caption, draw_switch_on(state, "on"))]
    drawn = draw_arc(state, "arc")
    if drawn is not None:
        drawings.append(Drawing("An arc at the plate, from the no-load voltage.", drawn))
    apart = "integration alone"
    if found.worst_relative is not None:
        apart = f"ngspice and an integration of its own, {found.worst_relative:.1%} apart at most"
    notes = (f"Solved over time by {apart}. Diodes are ideal, the transformer is its resistance.",)
    return BoxPart("box-supply", "Supply and arc", True, tuple(facts), (), tuple(drawings), notes)


def _cooling(found: CoolingResult, ambient: float, limit: float) -> BoxPart:
    sheet = Sheet(
        f"Hot sides from the anode outwards, {watts(found.dissipated_watt)} on {found.band}",
        ("Piece", "°C", "by its material", "K/W", "half of it would take off", "Capacitance"),
        tuple(
            (
                joint.name,
                f"{joint.celsius:.0f}",
                f"{joint.celsius_low:.0f} to {joint.celsius_high:.0f}",
                f"{joint.kelvin_per_watt:.3g}",
                f"{joint.halved_kelvin:.0f} K",
                farads(joint.capacitance_farad),
            )
            for joint in found.joints
        ),
    )
    facts = [
        ("Key down from idle to the limit", time_until(found.key_down_second)),
        ("Steady with the key down", f"{found.key_down_celsius:.0f} °C, limit {limit:.0f} °C"),
    ]
    if found.back_second is not None:
        facts.append(("Nine tenths of the way back", f"{found.back_second:.3g} s"))
    if found.detuning is not None:
        cost = found.detuning
        told = (
            f"tune capacitor at {farads(cost.tune_needed_farad)} instead of "
            f"{farads(cost.tune_needed_without_farad)}; loaded Q {cost.loaded_q:.1f} instead of "
            f"{cost.loaded_q_without:.1f}"
        )
        facts.append((f"The insulator’s {farads(found.insulator_capacitance_farad)} on {cost.band}", told))
    notes = tuple(beryllia_warnings(found))
    caption = "Temperatures along the way; bars: the range of the materials."
    drawings = (Drawing(caption, draw_heat_path(found, ambient, limit, "heat-path")),)
    return BoxPart("box-cooling", "The way of the heat", False, tuple(facts), (sheet,), drawings, notes)


def _meters(meters: tuple[MeterResult, ...]) -> BoxPart:
    rows = []
    for meter in meters:
        unit, error = meter_unit(meter.reads), meter.fitted_error
        wanted = needed_resistor(meter)
        values = "; ".join(
            f"{name} {' ∥ '.join(map(ohms, fit.ohm))} ({fit.error:+.1%})"
            for name, fit in meter.preferred.items()
        )
        rows.append(
            (
                meter.reads,
                format_quantity(meter.full_scale, unit),
                f"{wanted}: {values}" if values else wanted,
                ohms(meter.fitted_ohm),
                NOTHING if meter.resistors_in_series is None else str(meter.resistors_in_series),
                watts(meter.power_watt),
                f"{format_quantity(meter.shows_idle, unit)}, {format_quantity(meter.shows_full, unit)}",
                NOTHING if error is None else f"{_mark(error)}{error:+.1%}",
                amperes(meter.arc_movement_ampere),
            )
        )
    columns = (
        "Meter",
        "Scale",
        "Shunt or multiplier needed",
        "Fitted",
        "In series",
        "Heat",
        "Idle, full output",
        "Error fitted",
        "Arc through the movement",
    )
    sheet = Sheet("Shunts and multipliers for the scales wanted", columns, tuple(rows))
    notes = ("In series: none above half of its voltage rating (common practice).",)
    return BoxPart("box-meters", "Meters", True, (), (sheet,), (), notes)


def _mark(error: float) -> str:
    """Mark a reading that is wrong by more than a panel meter is."""
    return f"{MARKS['close']} {WORDS['close']} " if abs(error) > MOST_ERROR else ""


def _complex(real: float, imaginary: float) -> str:
    return f"{real:.3g} {'−' if imaginary < 0 else '+'} j{abs(imaginary):.2g} Ω"
