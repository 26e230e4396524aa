"""The box around the network, table by table of the file: bias and first power-up, drive, supply, heat, meters."""

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.circuit.box.panel_meter import MOST_ERROR
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.figures.box.curve_figure import draw_curve_points
from netsim.report.figures.box.drive_figure import draw_input_swr, draw_power_up
from netsim.report.figures.box.heat_figure import draw_heat_path
from netsim.report.figures.box.supply_figure import draw_arc, draw_switch_on
from netsim.report.notation import MARKS, WORDS
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

_UNITS = {"plate voltage": "V", "output": "W"}
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
        ("Bias", format_quantity(found.bias_volt, "V")),
        (
            f"Idle, without drive, at {format_quantity(found.idle_plate_volt, 'V')}",
            _pair(found.idle_current_ampere, found.idle_dissipation_watt),
        ),
        ("Cathode current, full output", format_quantity(found.cathode_current_ampere, "A")),
    ]
    if found.zener is not None:
        volts, watts = format_quantity(found.zener.volt, "V"), format_quantity(found.zener.watt, "W")
        facts.append(("Zener or transistor", f"{volts}, {watts}"))
    if found.cathode_resistor is not None:
        made = found.cathode_resistor
        idle = _pair(made.idle_current_ampere, made.idle_dissipation_watt)
        idling = f"{format_quantity(made.idle_bias_volt, 'V')}, {idle}"
        ohms = f"{format_quantity(made.ohm, 'ohm')}, {format_quantity(made.watt, 'W')}"
        facts.append(("Or a cathode resistor", f"{ohms}; it idles at {idling}"))
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
            tuple(map(_step, power_up.supply)),
        ),
        Sheet(
            f"Then drive, on {power_up.band}, tuned; driven at plate_voltage, the voltage under load",
            ("Drive", "Plate", "Current", "Grid", "Output", "Heat", "Meters show"),
            tuple(_driven(step) for step in power_up.drive),
        ),
    )
    drawing = Drawing(
        "Plate current as the supply comes up without drive.", draw_power_up(power_up, "power-up")
    )
    notes = (
        f"Stop where a meter shows more than {percent(STOP_ABOVE)} of its step (common practice), or at "
        f"{', '.join(stops)}.",
    )
    facts += _fitted(result)
    drawings = (*_curves(result), drawing)
    return BoxPart("box-bias", "Bias and first power-up", True, tuple(facts), sheets, drawings, notes)


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
            f"{tube.residual_rms:.1%} rms; most at entry {worst.index + 1}, {format_quantity(worst.plate_volt, 'V')} "
            f"and {format_quantity(worst.grid_volt, 'V')}{miss}",
        )


def _curves(result: Analysis) -> Iterator[Drawing]:
    state, described = result.solved.tube_state, result.solved.description.tube
    if state is None or state.fit is None or described is None:
        return
    shapes = draw_curve_points(state.tube.single(0), described.curve_points, state.fit.worst, "curves")
    yield Drawing("The curve points of the file on the fitted curves; triangle: the one missed most.", shapes)


def _step(step: PowerUpStep) -> tuple[str, ...]:
    return (
        format_quantity(step.plate_volt, "V"),
        format_quantity(step.plate_current_ampere, "A"),
        format_quantity(step.dissipation_watt, "W"),
        _shown(step),
    )


def _driven(step: PowerUpStep) -> tuple[str, ...]:
    return (
        _DRIVE.get(step.fraction, f"{step.fraction:.0%}"),
        format_quantity(step.plate_volt, "V"),
        format_quantity(step.plate_current_ampere, "A"),
        format_quantity(step.grid_current_ampere, "A"),
        format_quantity(step.output_watt, "W"),
        format_quantity(step.dissipation_watt, "W"),
        _shown(step),
    )


def _shown(step: PowerUpStep) -> str:
    units = {"plate_voltage": "V", "output": "W"}
    shown = []
    for name, value in step.shows.items():
        reads = name.partition("_meter")[0]
        shown.append(f"{reads.replace('_', ' ')} {format_quantity(value, units.get(reads, 'A'))}")
    return ", ".join(shown) or NOTHING


def _input(rows: tuple[InputResult, ...]) -> BoxPart:
    def parts(row: InputResult) -> str:
        if row.coil_henry is None:
            return NOTHING
        values = ((row.coil_henry, "H"), (row.source_capacitor_farad, "F"), (row.tube_capacitor_farad, "F"))
        return ", ".join(format_quantity(value, unit) for value, unit in values) + (
            " *" if row.designed else ""
        )

    sheet = Sheet(
        "At full output",
        ("Band", "MHz", "Tube shows", "Drive", "Exciter", "SWR", "Loaded Q", "Coil, exciter’s C, tube’s C"),
        tuple(
            (
                row.band,
                f"{row.frequency_hertz / 1e6:.6g}",
                _complex(row.tube_impedance_ohm),
                format_quantity(row.drive_watt, "W"),
                format_quantity(row.exciter_watt, "W"),
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
    drawing = Drawing(
        "SWR that the exciter sees; marks at 1.5 and 2 (common practice).", draw_input_swr(rows, "input-swr")
    )
    return BoxPart("box-input", "Drive", False, (), (sheet,), (drawing,), notes)


def _supply(found: SupplyResult, state: SupplyState) -> BoxPart:
    arc = found.arc
    volts = (found.no_load_volt, found.idle_volt, found.full_load_volt)
    facts = [
        ("No load, idle, full output", ", ".join(format_quantity(v, "V") for v in volts)),
        ("Ripple at full output", f"{format_quantity(found.ripple_volt, 'V')} peak to peak"),
        (
            "Secondary",
            f"{format_quantity(found.secondary_rms_ampere, 'A')} rms, "
            f"{format_quantity(found.secondary_peak_ampere, 'A')} pk",
        ),
        (
            "At switch-on",
            f"{format_quantity(found.inrush_peak_ampere, 'A')} pk, without a resistor "
            f"{format_quantity(found.inrush_peak_without_ampere, 'A')} pk"
            + (
                ""
                if found.inrush_joule is None
                else f"; {format_quantity(found.inrush_joule, 'J')} in the resistor"
            ),
        ),
        ("Stored", format_quantity(found.stored_joule, "J")),
        ("Each capacitor", f"{format_quantity(found.capacitor_volt, 'V')} pk"),
        ("Bleeder", format_quantity(found.bleeder_watt, "W")),
        *_discharge(found),
        (
            "An arc at the plate",
            f"{'nothing limits it' if arc.peak_ampere is None else format_quantity(arc.peak_ampere, 'A') + ' pk'}, "
            f"over after {format_quantity(arc.duration_second, 's')}: {format_quantity(arc.glitch_joule, 'J')} in the "
            f"glitch resistor, {format_quantity(arc.tube_joule, 'J')} in the tube",
        ),
    ]
    if arc.fuse_melts_second is not None:
        facts.append(
            ("The fuse melts after", f"{format_quantity(arc.fuse_melts_second, 's')}; it may go on arcing")
        )
    drawings = [
        Drawing(
            "Filter capacitors from switching on; dashed: without the inrush resistor.",
            draw_switch_on(state, "on"),
        )
    ]
    drawn = draw_arc(state, "arc")
    if drawn is not None:
        drawings.append(Drawing("An arc at the plate, from the no-load voltage.", drawn))
    apart = "integration alone" if found.worst_relative is None else (
        f"ngspice and an integration of its own, {found.worst_relative:.1%} apart at most"
    )  # fmt: skip
    notes = (f"Solved over time by {apart}. Diodes are ideal, the transformer is its resistance.",)
    return BoxPart("box-supply", "Supply and arc", True, tuple(facts), (), tuple(drawings), notes)


def _discharge(found: SupplyResult) -> Iterator[tuple[str, str]]:
    if found.touch_volt is not None:
        with_all, alone = (
            "never" if value is None else f"{value:.3g} s"
            for value in (found.discharge_second, found.discharge_bleeder_open_second)
        )
        touch = format_quantity(found.touch_volt, "V")
        yield f"The model is down to {touch} after", f"{with_all}; with the bleeder open {alone}"


def _cooling(found: CoolingResult, ambient: float, limit: float) -> BoxPart:
    sheet = Sheet(
        f"Hot sides from the anode outwards, {format_quantity(found.dissipated_watt, 'W')} on {found.band}",
        ("Piece", "°C", "by its material", "K/W", "half of it would take off", "Capacitance"),
        tuple(
            (
                joint.name,
                f"{joint.celsius:.0f}",
                f"{joint.celsius_low:.0f} to {joint.celsius_high:.0f}",
                f"{joint.kelvin_per_watt:.3g}",
                f"{joint.halved_kelvin:.0f} K",
                NOTHING if joint.capacitance_farad is None else format_quantity(joint.capacitance_farad, "F"),
            )
            for joint in found.joints
        ),
    )
    held = "never" if found.key_down_second is None else f"{found.key_down_second:.3g} s"
    facts = [
        ("Key down from idle to the limit", held),
        ("Steady with the key down", f"{found.key_down_celsius:.0f} °C, limit {limit:.0f} °C"),
    ]
    if found.back_second is not None:
        facts.append(("Nine tenths of the way back", f"{found.back_second:.3g} s"))
    if found.detuning is not None:
        cost = found.detuning
        need, without = (
            format_quantity(value, "F") for value in (cost.tune_needed_farad, cost.tune_needed_without_farad)
        )
        facts.append(
            (
                f"The insulator’s {format_quantity(found.insulator_capacitance_farad, 'F')} on {cost.band}",
                f"tune capacitor at {need} instead of {without}; loaded Q {cost.loaded_q:.1f} instead of "
                f"{cost.loaded_q_without:.1f}",
            )
        )
    notes = tuple(dict.fromkeys(f"Beryllia: {j.warning}." for j in found.joints if j.warning))
    drawing = Drawing(
        "Temperatures along the way; bars: the range of the materials.",
        draw_heat_path(found, ambient, limit, "heat-path"),
    )
    return BoxPart("box-cooling", "The way of the heat", False, tuple(facts), (sheet,), (drawing,), notes)


def _meters(meters: tuple[MeterResult, ...]) -> BoxPart:
    rows = []
    for meter in meters:
        unit, error = _UNITS.get(meter.reads, "A"), meter.fitted_error
        wanted = meter.multiplier_ohm if meter.shunt_ohm is None else meter.shunt_ohm
        values = "; ".join(
            f"{name} {' ∥ '.join(format_quantity(ohm, 'ohm') for ohm in fit.ohm)} ({fit.error:+.1%})"
            for name, fit in meter.preferred.items()
        )
        rows.append(
            (
                meter.reads,
                format_quantity(meter.full_scale, unit),
                f"{format_quantity(wanted, 'ohm')}: {values}" if values else format_quantity(wanted, "ohm"),
                format_quantity(meter.fitted_ohm, "ohm"),
                NOTHING if meter.resistors_in_series is None else str(meter.resistors_in_series),
                format_quantity(meter.power_watt, "W"),
                f"{format_quantity(meter.shows_idle, unit)}, {format_quantity(meter.shows_full, unit)}",
                NOTHING if error is None else f"{_mark(error)}{error:+.1%}",
                format_quantity(meter.arc_movement_ampere, "A"),
            )
        )
    columns = (
        *(
            "Meter",
            "Scale",
            "Shunt or multiplier needed",
            "Fitted",
            "In series",
            "Heat",
            "Idle, full output",
            "Error fitted",
        ),
        "Arc through the movement",
    )
    sheet = Sheet("Shunts and multipliers for the scales wanted", columns, tuple(rows))
    notes = ("In series: none above half of its voltage rating (common practice).",)
    return BoxPart("box-meters", "Meters", True, (), (sheet,), (), notes)


def _mark(error: float) -> str:
    """Mark a reading that is wrong by more than a panel meter is."""
    return f"{MARKS['close']} {WORDS['close']} " if abs(error) > MOST_ERROR else ""


def _pair(amperes: float, watts: float) -> str:
    return f"{format_quantity(amperes, 'A')}, {format_quantity(watts, 'W')}"


def _complex(value: tuple[float, float]) -> str:
    real, imaginary = value
    return f"{real:.3g} {'−' if imaginary < 0 else '+'} j{abs(imaginary):.2g} Ω"
