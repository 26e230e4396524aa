"""Where a wound coil gets hottest: its heat, run by run and loop by loop, against the surface that sheds it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from netsim.circuit.coil.partial_resistance import RunResistance, run_resistances
from netsim.circuit.coil.winding import Solenoid
from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.description.formatting import format_quantity
from netsim.verdict.heat import AMBIENT_CELSIUS, Stretch, SurfaceTemperature, surface_temperature
from netsim.verdict.solved import Solved


@dataclass(frozen=True)
class HotSpot:
    """The hottest stretch of a coil, and how its temperature comes about."""

    temperature: SurfaceTemperature
    why: str


def hottest(solved: Solved, wound: WoundCoil, name: str, row: int) -> HotSpot | None:
    """Find the hottest stretch of a coil in one network; None where no solenoid is in use.

    Parameters
    ----------
    solved : Solved
    wound : WoundCoil
    name : str
        ``coil`` or ``output_coil``.
    row : int
        The network.

    Notes
    -----
    The heat is the loss at full output times the stage's duty, less what is lost in leads, switch and
    cabinet. In the active turns it goes by each run's resistance, in a loop likewise. Conduction along the
    wire is left out, so that short stretches come out too hot.
    """
    duty = float(solved.assembly.stage.duty[row])
    heat = float(solved.stress[name].loss[row] * wound.conductor_share[row]) * duty
    shares = wound.loop_loss_share[row]
    frequency = np.asarray(solved.frequency[row])
    turns = float(wound.spread(wound.tapped.turns)[row])
    edges = np.maximum(np.asarray(wound.winding.loop_edges), turns)
    stretches = [("turns in use", 0.0, turns, 1.0 - float(shares.sum()))]
    stretches += [
        ("shorted turns", float(edges[k]), float(edges[k + 1]), float(share))
        for k, share in enumerate(shares)
    ]
    spots = []
    for what, begin, end, share in stretches:
        runs = list(run_resistances(wound.winding, np.asarray(begin), np.asarray(end), frequency))
        spots += list(_spots(runs, what, heat * share, duty))
    return max(spots, key=lambda spot: spot.temperature.middle, default=None)


def _spots(runs: list[RunResistance], what: str, heat: float, duty: float) -> Iterator[HotSpot]:
    total = float(sum(part.resistance for part in runs))
    for part in runs:
        run, turns = part.placed.run, float(part.turns)
        if not isinstance(run, Solenoid) or turns <= 0.0:
            continue
        loss = heat * float(part.resistance) / total
        stretch = Stretch(
            conductor_diameter=run.conductor_diameter,
            wire_length=turns * float(np.hypot(np.pi * run.mean_diameter, run.pitch)),
            outer_diameter=run.mean_diameter + run.conductor_diameter,
            length=turns * run.pitch,
        )
        average = "" if duty == 1.0 else f" averaged over a duty of {duty:g}"
        yield HotSpot(
            surface_temperature(loss, stretch),
            f"{format_quantity(loss, 'W')}{average} in {turns:.3g} {what}, free convection and radiation into "
            f"still air at {AMBIENT_CELSIUS:g} °C, without what leads, switch and cabinet take; the spread is from "
            "bare tarnished turns to a bright closed cylinder",
        )
