"""The tube against what the stage says of it."""

from collections.abc import Iterator

import numpy as np

from netsim.verdict.judged import Check, Judged, NotRated, judged
from netsim.verdict.solved import Solved

APART = 0.15
"""Share of what the stage implies by which the settled state may differ."""

_CLOSE = 1 / 3
"""5 % of 15 %."""


def disagreement(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the settled plate current, output and plate heat against what the stage's own figures imply.

    On every network: what the stage implies is its nominal state, with the output that the network passes on.
    """
    if solved.tube_state is None:
        return
    stage = solved.assembly.stage
    heat = stage.plate_current(stage.plate_load.astype(np.complex128)).dissipation
    for quantity, unit, value, wanted in (
        ("plate_current", "A", solved.current.direct, stage.direct_current),
        ("output", "W", solved.output_power, solved.efficiency * stage.plate_power),
        ("plate_dissipation", "W", solved.current.dissipation, heat),
    ):
        used = np.abs(value / wanted - 1) / APART
        yield judged(
            Check("tube_disagrees", "stage", quantity),
            value,
            wanted,
            unit,
            used,
            _CLOSE,
            ("tube",),
        )
    yield from _contradictions(solved)


def _contradictions(solved: Solved) -> Iterator[Judged]:
    """Judge what stage and tube say of the same thing, where both say it."""
    assert solved.tube_state is not None
    tube, described = solved.tube_state.tube, solved.description.tube
    assert described is not None
    every = np.ones(len(solved.assembly))
    drive = solved.assembly.stage.drive_voltage_peak
    if tube.connection == "grounded cathode" and drive.any():
        nothing = every * np.nan
        yield judged(
            Check("tube_disagrees", "stage", "connection"), drive, 0.0, "V", nothing, 1.0,
            ("stage", "drive_voltage_peak"), at_most="close", applies=drive > 0,
        )  # fmt: skip
    elif drive.any():
        value = tube.drive_voltage_peak * every
        used = np.abs(value / np.where(drive > 0, drive, np.nan) - 1) / APART
        yield judged(
            Check("tube_disagrees", "stage", "drive_voltage_peak"), value, drive, "V", used, _CLOSE,
            ("stage", "drive_voltage_peak"), applies=drive > 0,
        )  # fmt: skip
    if described.bias_voltage is not None:
        wanted = solved.assembly.stage.conduction_angle
        value = solved.tube_state.conduction_angle
        used = np.abs(value / wanted - 1) / APART
        yield judged(
            Check("tube_disagrees", "stage", "conduction_angle"), value, wanted, "rad", used, _CLOSE,
            ("stage", "conduction_angle"), applies=solved.tuned,
        )  # fmt: skip
