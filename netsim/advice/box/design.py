"""Parts of the box that a file leaves out: input network, bleeder, glitch resistor, shunts and multipliers."""

import math
from collections.abc import Iterator

from netsim.advice.box.candidates import bleeder_for, input_edits
from netsim.advice.change import Edit, quantity_edit
from netsim.advice.preferred_values import rating_for
from netsim.analysis import Analysis
from netsim.circuit.preferred_values import E24, nearest, step_up
from netsim.description.models.amplifier import Description

ARC_AMPERES = 100.0
"""Peak current that a glitch resistor is to leave an arc, at most (common practice: some tens to 150 A)."""

PULSE_SHARE = 0.5
"""Of its rating, what a designed resistor is to use."""


def lacks_box(description: Description) -> bool:
    """Tell whether a file has tables of the box that leave parts out."""
    supply, network = description.supply, description.input
    return (
        (supply is not None and (supply.bleeder is None or supply.glitch_resistor is None))
        or any(meter.shunt is None and meter.multiplier is None for meter in description.meters)
        or (
            network is not None
            and network.topology == "pi"
            and description.tube is not None
            and any(band.input_coil is None for band in description.bands)
        )
    )


def box_edits(result: Analysis) -> Iterator[Edit]:
    """Yield what the file, as it stands with all bands, leaves out of the box, as the solved box asks for it.

    In preferred values (IEC 60063).
    """
    yield from _input(result)
    yield from _supply(result)
    for state in () if result.solved.box is None else result.solved.box.meters:
        wanted = state.meter.resistance
        if state.meter.fitted is None and math.isfinite(wanted) and wanted > 0:
            key = "shunt" if state.meter.is_current else "multiplier"
            yield quantity_edit(("meters", state.index, key), nearest(wanted, E24), "ohm")


def _input(result: Analysis) -> Iterator[Edit]:
    """Write down the parts that the input networks without any were solved with."""
    solved = result.solved
    state = None if solved.box is None else solved.box.input
    if state is None:
        return
    for index, _, rows in solved.bands():
        row = int(rows[0])
        if state.designed[row]:
            parts = (state.parts.coil, state.parts.source_capacitor, state.parts.tube_capacitor)
            yield from input_edits(index, *(float(values[row]) for values in parts))


def _supply(result: Analysis) -> Iterator[Edit]:
    supply, box = result.solved.description.supply, result.solved.box
    state = None if box is None else box.supply
    if supply is None or state is None:
        return
    volts = state.no_load_voltage
    if supply.bleeder is None:
        bleeder = nearest(bleeder_for(state, supply.touch_voltage), E24)
        yield quantity_edit(("supply", "bleeder"), bleeder, "ohm")
        rating = rating_for(volts**2 / bleeder, PULSE_SHARE)
        yield quantity_edit(("supply", "bleeder_power_rating"), rating, "W")
    if supply.glitch_resistor is None:
        glitch = step_up(volts / ARC_AMPERES, E24)
        yield quantity_edit(("supply", "glitch_resistor"), glitch, "ohm")
        rating = rating_for(state.circuit.stored(volts), PULSE_SHARE)
        yield quantity_edit(("supply", "glitch_pulse_rating"), rating, "J")
