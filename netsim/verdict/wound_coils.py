"""What wound coils go through: where they get hottest, currents of shorted turns, the voltage of open ones."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.coil.wound_coils import HeatedRun, WoundCoil
from netsim.circuit.elements import IndexArray
from netsim.verdict.heat import HeatedSolenoid, SurfaceTemperature, surface_temperature
from netsim.verdict.result import CoilLoop
from netsim.verdict.solved import Solved
from netsim.verdict.stress import Stress


@dataclass(frozen=True)
class HotSpot:
    """The hottest solenoid of a coil: its mean loss [W], the duty it is averaged over, how many turns of what."""

    temperature: SurfaceTemperature
    loss: float
    duty: float
    turns: float
    what: str


def hottest(solved: Solved, wound: WoundCoil, name: str, rows: IndexArray) -> list[HotSpot | None]:
    """Find the hottest solenoid of a coil in some networks; None where no solenoid is in use.

    Parameters
    ----------
    solved : Solved
    wound : WoundCoil
    name : str
        ``coil`` or ``output_coil``.
    rows : ndarray of int
        The networks, which have to use the coil.

    Notes
    -----
    The heat is the loss at full output times the stage's duty, less what is lost in leads, switch and
    cabinet, spread over the turns where it arises. Conduction along the wire is left out, so that short
    stretches come out too hot.
    """
    duty = solved.assembly.stage.duty[rows]
    heat = solved.stress[name].loss[rows] * wound.conductor_share[rows] * duty
    unused = "shorted turns" if wound.winding.has_loops else "open turns"
    found = []
    for parts, *of_row in zip(wound.heated(rows), heat.tolist(), duty.tolist(), strict=True):
        spots = [_spot(part, "turns in use" if part.in_use else unused, *of_row) for part in parts]
        found.append(max(spots, key=lambda spot: spot.temperature.middle, default=None))
    return found


def _spot(part: HeatedRun, what: str, heat: float, duty: float) -> HotSpot:
    run, loss = part.run, heat * part.share
    solenoid = HeatedSolenoid(
        conductor_diameter=run.conductor_diameter,
        wire_length=part.turns * float(np.hypot(np.pi * run.mean_diameter, run.pitch)),
        outer_diameter=run.mean_diameter + run.conductor_diameter,
        length=part.turns * run.pitch,
    )
    return HotSpot(surface_temperature(loss, solenoid), loss, duty, part.turns, what)


def loops(wound: WoundCoil, coil: Stress, row: int) -> tuple[CoilLoop, ...]:
    """Give the shorted loops of one network, from the tap outwards.

    Currents rms and losses over all orders; the losses are part of the coil's.
    """
    turns = wound.spread(wound.tapped.loop_turns)[row]
    current = wound.loop_current_ratio[row] * coil.current_rms[row]
    loss = wound.loop_loss_share[row] * coil.loss[row]
    return tuple(
        CoilLoop(float(turns[k]), float(current[k]), float(loss[k]))
        for k in range(len(turns))
        if turns[k] > 0
    )


def free_end_voltage(wound: WoundCoil, coil: Stress, row: int) -> float | None:
    """Give the peak voltage from the tap to the free end of open turns [V]; None without open turns."""
    if wound.winding.unused_turns != "open" or row not in wound.rows:
        return None
    return float(wound.spread(wound.tapped.free_end_ratio)[row] * coil.voltage_peak[row])
