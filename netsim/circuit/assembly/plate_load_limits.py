"""Limits of a plate load: they end where the plate would swing below zero."""

from dataclasses import replace
from typing import Any

import numpy as np

from netsim.circuit.stage import largest_plate_load, pulse_spectrum
from netsim.description.assumed import completed
from netsim.description.formatting import format_quantity
from netsim.description.inputs import Input
from netsim.description.reader import Amplifier


def inputs_of(amplifier: Amplifier) -> tuple[Input, ...]:
    """Return what is known of an amplifier only within limits, those of a plate load cut where the swing ends.

    Notes
    -----
    The largest plate load is ``(V + E) / I_1``, at the values of the file; where voltage, current or angle have
    limits too, `assemble` holds each draw to its own. The format's other rules have cut already.
    """
    return tuple(
        _cut(entry, amplifier) if entry.path[-1] == "plate_load" else entry for entry in amplifier.inputs
    )


def _cut(entry: Input, amplifier: Amplifier) -> Input:
    described = completed(amplifier.description)
    stage: Any = described.stage
    if entry.path[0] == "operating_points":
        stage = described.operating_points[int(entry.path[1])].of(stage)
    current = stage.plate_current * pulse_spectrum(stage.conduction_angle, 1, stage.pulse)[..., 0]
    largest = float(
        largest_plate_load(np.asarray(stage.plate_voltage), np.asarray(stage.drive_voltage_peak), current)
    )
    if not entry.nominal <= largest < entry.high:
        return entry
    note = f"the high limit ends at {format_quantity(largest, 'ohm')}, where the plate would swing below zero"
    return replace(entry, high=largest, note=f"{entry.note}; {note}" if entry.note else note)
