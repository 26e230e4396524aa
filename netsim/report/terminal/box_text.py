"""The box around the network in a terminal: cautions first, then a few lines for each table of the file."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from netsim.circuit.box.panel_meter import MOST_ERROR
from netsim.description.formatting import NOTHING, format_quantity, percent
from netsim.report.box_words import (
    beryllia_warnings,
    discharge_times,
    meter_unit,
    needed_resistor,
    time_until,
)
from netsim.report.notation import amperes, farads, joules, ohms, volts, watts
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


def render(found: BoxResult) -> tuple[RenderableType, ...]:
    """Lay out bias, drive, supply, heat path and meters; nothing where the file has none of their tables."""
    if found == BoxResult():
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
            f"; a zener {volts(found.zener.volt)}, {watts(found.zener.watt)}; or "
            f"{ohms(resistor.ohm)} in the cathode, {watts(resistor.watt)}, idling at "
            f"{amperes(resistor.idle_current_ampere)} and "
            f"{volts(resistor.idle_bias_volt)}"
        )
    yield Text(
        f"Bias {volts(found.bias_volt)}: idle {amperes(found.idle_current_ampere)} at "
        f"{volts(found.idle_plate_volt)}, {watts(found.idle_dissipation_watt)}; cathode "
        f"{amperes(found.cathode_current_ampere)} at full output{ways}."
    )
    steps = ", ".join(
        f"{volts(step.plate_volt)} {amperes(step.plate_current_ampere)}" for step in found.power_up.supply
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
            watts(row.drive_watt),
            watts(row.exciter_watt),
            f"{row.swr:.2f}",
            (NOTHING if row.loaded_q is None else f"{row.loaded_q:.1f}") + ("*" if row.designed else ""),
        )
    if any(row.designed for row in rows):
        table.caption = "* the file gives no parts; these are netsim's, in preferred values"
    return table


def _supply(found: SupplyResult) -> Iterator[RenderableType]:
    yield Text(
        f"Supply {volts(found.no_load_volt)} without load, {volts(found.full_load_volt)} at "
        f"{amperes(found.full_load_current_ampere)}, ripple {volts(found.ripple_volt)} pp; secondary "
        f"{amperes(found.secondary_rms_ampere)} rms, {amperes(found.secondary_peak_ampere)} pk; at switch-on "
        f"{amperes(found.inrush_peak_ampere)} pk, without a resistor "
        f"{amperes(found.inrush_peak_without_ampere)} pk."
    )
    arc = found.arc
    peak = "nothing limits its current" if arc.peak_ampere is None else f"{amperes(arc.peak_ampere)} pk"
    yield Text(
        f"An arc at the plate: {peak}; {joules(arc.glitch_joule)} in the glitch resistor, "
        f"{joules(arc.tube_joule)} in the tube, of {joules(found.stored_joule)} stored."
    )
    if found.touch_volt is not None:
        with_all, alone = discharge_times(found)
        touch = volts(found.touch_volt)
        yield Text(f"The model's voltage is down to {touch} after {with_all}, with the bleeder open {alone}.")


def _cooling(found: CoolingResult) -> Iterator[RenderableType]:
    steps = ", ".join(f"{joint.name} {joint.celsius:.0f} °C" for joint in found.joints)
    held = time_until(found.key_down_second)
    held += " reaches its limit" if found.key_down_second is None else " to its limit"
    yield Text(f"Heat {watts(found.dissipated_watt)} on {found.band}: {steps}; key down from idle: {held}.")
    if found.insulator_capacitance_farad is not None:
        cost, told = found.detuning, ""
        if cost is not None:
            need, without = farads(cost.tune_needed_farad), farads(cost.tune_needed_without_farad)
            told = f"; with it {cost.band} needs {need} of tune capacitance instead of {without}"
        yield Text(f"The insulator is {farads(found.insulator_capacitance_farad)}{told}.")
    for warning in beryllia_warnings(found):
        yield Text(warning, "bold yellow")


def _meters(meters: tuple[MeterResult, ...]) -> Table:
    columns = ("Meter", "scale", "needed", "fitted", "idle", "full", "error")
    table = figures_table(*columns, width=_NAME_COLUMNS)
    for meter in meters:
        unit, error = meter_unit(meter.reads), meter.fitted_error
        table.add_row(
            Text(meter.reads),
            format_quantity(meter.full_scale, unit),
            needed_resistor(meter),
            ohms(meter.fitted_ohm),
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
        heat = watts(meter.power_watt)
        count = meter.resistors_in_series or 1
        told.append(f"{meter.reads} {f'{count} in series, ' if count > 1 else ''}{heat}")
    return Text(f"Resistors at the last mark: {'; '.join(told)}.")
