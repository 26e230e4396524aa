"""The box around the network in a terminal: cautions first, then a few lines for each table of the file."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from netsim.circuit.box.panel_meter import MOST_ERROR
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.terminal.tables import figures_table
from netsim.verdict.box.result import (
    STOP_ABOVE,
    BiasResult,
    BoxResult,
    CoolingResult,
    InputResult,
    MeterResult,
    SupplyResult,
)

CAUTION = (
    "Plate supplies kill, and a bleeder can be open. Local codes and licensed practice come first: unplug, wait, "
    "discharge through a resistor, short to chassis with an insulated stick, one hand, covers on."
)
"""Before whatever leads a hand into the box."""

_NAME_COLUMNS = 14
_UNITS = {"plate voltage": "V", "output": "W"}


def render(found: BoxResult) -> tuple[RenderableType, ...]:
    """Lay out bias, drive, supply, heat path and meters; nothing where the file has none of their tables."""
    tables = (found.bias, found.input, found.supply, found.cooling, found.meters)
    if all(table is None for table in tables):
        return ()
    shown: list[RenderableType] = [Text("The box around the network:", "bold"), Text(CAUTION, "bold yellow")]
    if found.bias is not None:
        shown += _bias(found.bias)
    if found.input:
        shown.append(_input(found.input))
    if found.supply is not None:
        shown += _supply(found.supply)
    if found.cooling is not None:
        shown += _cooling(found.cooling)
    if found.meters:
        shown += [_meters(found.meters), _resistors(found.meters)]
    return tuple(shown)


def _bias(found: BiasResult) -> Iterator[RenderableType]:
    ways = ""
    if found.zener is not None and found.cathode_resistor is not None:
        resistor = found.cathode_resistor
        ways = (
            f"; a zener {format_quantity(found.zener.volt, 'V')}, {format_quantity(found.zener.watt, 'W')}; or "
            f"{format_quantity(resistor.ohm, 'ohm')} in the cathode, {format_quantity(resistor.watt, 'W')}, idling at "
            f"{format_quantity(resistor.idle_current_ampere, 'A')} and "
            f"{format_quantity(resistor.idle_bias_volt, 'V')}"
        )
    yield Text(
        f"Bias {format_quantity(found.bias_volt, 'V')}: idle {format_quantity(found.idle_current_ampere, 'A')} at "
        f"{format_quantity(found.idle_plate_volt, 'V')}, {format_quantity(found.idle_dissipation_watt, 'W')}; cathode "
        f"{format_quantity(found.cathode_current_ampere, 'A')} at full output{ways}."
    )
    steps = ", ".join(
        f"{format_quantity(step.plate_volt, 'V')} {format_quantity(step.plate_current_ampere, 'A')}"
        for step in found.power_up.supply
    )
    yield Text(
        f"First power-up, no drive: {steps}; stop where it is more than {percent(STOP_ABOVE)} of that."
    )


def _input(rows: tuple[InputResult, ...]) -> Table:
    table = figures_table("Input", "MHz", "tube", "drive", "exciter", "SWR", "loaded Q", width=_NAME_COLUMNS)
    for row in rows:
        real, imaginary = row.tube_impedance_ohm
        table.add_row(
            Text(row.band),
            f"{row.frequency_hertz / 1e6:.6g}",
            f"{real:.3g} {'-' if imaginary < 0 else '+'} {abs(imaginary):.2g}j Ω",
            format_quantity(row.drive_watt, "W"),
            format_quantity(row.exciter_watt, "W"),
            f"{row.swr:.2f}",
            (NOTHING if row.loaded_q is None else f"{row.loaded_q:.1f}") + ("*" if row.designed else ""),
        )
    if any(row.designed for row in rows):
        table.caption = "* the file gives no parts; these are netsim's, in preferred values"
    return table


def _supply(found: SupplyResult) -> Iterator[RenderableType]:
    yield Text(
        f"Supply {format_quantity(found.no_load_volt, 'V')} without load, "
        f"{format_quantity(found.full_load_volt, 'V')} at {format_quantity(found.full_load_current_ampere, 'A')}, "
        f"ripple {format_quantity(found.ripple_volt, 'V')} pp; secondary "
        f"{format_quantity(found.secondary_rms_ampere, 'A')} rms, "
        f"{format_quantity(found.secondary_peak_ampere, 'A')} pk; at switch-on "
        f"{format_quantity(found.inrush_peak_ampere, 'A')} pk, without a resistor "
        f"{format_quantity(found.inrush_peak_without_ampere, 'A')} pk."
    )
    arc = found.arc
    peak = (
        "nothing limits its current"
        if arc.peak_ampere is None
        else f"{format_quantity(arc.peak_ampere, 'A')} pk"
    )
    yield Text(
        f"An arc at the plate: {peak}; {format_quantity(arc.glitch_joule, 'J')} in the glitch resistor, "
        f"{format_quantity(arc.tube_joule, 'J')} in the tube, of {format_quantity(found.stored_joule, 'J')} stored."
    )
    if found.touch_volt is None:
        return
    with_all, alone = (
        "never" if value is None else f"{value:.3g} s"
        for value in (found.discharge_second, found.discharge_bleeder_open_second)
    )
    yield Text(
        f"The model's voltage is down to {format_quantity(found.touch_volt, 'V')} after {with_all}, with the bleeder "
        f"open {alone}."
    )


def _cooling(found: CoolingResult) -> Iterator[RenderableType]:
    steps = ", ".join(f"{joint.name} {joint.celsius:.0f} °C" for joint in found.joints)
    held = (
        "never reaches its limit"
        if found.key_down_second is None
        else f"{found.key_down_second:.3g} s to its limit"
    )
    yield Text(
        f"Heat {format_quantity(found.dissipated_watt, 'W')} on {found.band}: {steps}; key down from idle: {held}."
    )
    if found.insulator_capacitance_farad is not None:
        cost = ""
        if found.detuning is not None:
            need, without = (
                format_quantity(value, "F")
                for value in (found.detuning.tune_needed_farad, found.detuning.tune_needed_without_farad)
            )
            cost = f"; with it {found.detuning.band} needs {need} of tune capacitance instead of {without}"
        yield Text(f"The insulator is {format_quantity(found.insulator_capacitance_farad, 'F')}{cost}.")
    for warning in dict.fromkeys(joint.warning for joint in found.joints if joint.warning):
        yield Text(f"Beryllia: {warning}.", "bold yellow")


def _meters(meters: tuple[MeterResult, ...]) -> Table:
    columns = ("Meter", "scale", "needed", "fitted", "idle", "full", "error")
    table = figures_table(*columns, width=_NAME_COLUMNS)
    for meter in meters:
        unit, error = _UNITS.get(meter.reads, "A"), meter.fitted_error
        wanted = meter.multiplier_ohm if meter.shunt_ohm is None else meter.shunt_ohm
        table.add_row(
            Text(meter.reads),
            format_quantity(meter.full_scale, unit),
            format_quantity(wanted, "ohm"),
            format_quantity(meter.fitted_ohm, "ohm"),
            format_quantity(meter.shows_idle, unit),
            format_quantity(meter.shows_full, unit),
            NOTHING if error is None else f"{'*' * (abs(error) > MOST_ERROR)}{error:+.1%}",
        )
    if any(abs(meter.fitted_error or 0.0) > MOST_ERROR for meter in meters):
        table.caption = f"* wrong by more than {MOST_ERROR:.0%}: see the finding"
    return table


def _resistors(meters: tuple[MeterResult, ...]) -> Text:
    """Tell the heat of shunts and multipliers, and of how many resistors they are made."""
    told = []
    for meter in meters:
        heat = format_quantity(meter.power_watt, "W")
        count = meter.resistors_in_series or 1
        told.append(f"{meter.reads} {f'{count} in series, ' if count > 1 else ''}{heat}")
    return Text(f"Resistors at the last mark: {'; '.join(told)}.")
