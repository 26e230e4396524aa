"""High-frequency resistance of stretches of a winding, run by run."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from netsim.circuit.coil.conductor_loss import wire_resistance
from netsim.circuit.coil.medhurst import proximity_factor
from netsim.circuit.coil.winding import PlacedRun, Solenoid, Winding, place_runs

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class RunResistance:
    """That part of a stretch which lies in one run: its turns and its resistance [ohm], broadcast."""

    placed: PlacedRun
    turns: Floats
    resistance: Floats


def run_resistances(
    winding: Winding, begin: Floats, end: Floats, frequency: Floats
) -> Iterator[RunResistance]:
    """Take a stretch apart into its runs.

    Parameters
    ----------
    winding : Winding
    begin, end : ndarray
        Places in turns from the plate end.
    frequency : ndarray
        [Hz]; all three broadcast.

    Yields
    ------
    RunResistance
        For every run of the winding, also those the stretch does not touch.

    Notes
    -----
    Skin effect of the wire times Medhurst's factor, the latter by the length of the stretch. On a toroid
    core and wire loss go with the turns, so that its Q falls where it is tapped.
    """
    for item in place_runs(winding):
        run, turns = item.run, item.local(end) - item.local(begin)
        if isinstance(run, Solenoid):
            wire = np.hypot(np.pi * run.mean_diameter, run.pitch)
            straight = wire_resistance(wire, run.conductor_diameter, run.resistivity, frequency)
            shape = turns * run.pitch / run.mean_diameter
            factor = proximity_factor(shape, run.pitch / run.conductor_diameter)
            yield RunResistance(item, turns, np.asarray(turns * straight * factor))
        else:
            whole = 2.0 * np.pi * frequency * run.inductance_per_turn_squared * run.turns**2
            yield RunResistance(item, turns, np.asarray(whole / run.unloaded_q * turns / run.turns))


def stretch_resistance(winding: Winding, begin: Floats, end: Floats, frequency: Floats) -> Floats:
    """Give the resistance [ohm] of the turns from begin to end; see `run_resistances`."""
    total = np.zeros(np.broadcast_shapes(begin.shape, end.shape, frequency.shape))
    for part in run_resistances(winding, begin, end, frequency):
        total += part.resistance
    return total
