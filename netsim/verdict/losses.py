"""Where the power goes that the stage would give into its plate load."""

from collections.abc import Mapping

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.verdict.judged import number
from netsim.verdict.result import PART_NAMES, Loss
from netsim.verdict.solved import Solved
from netsim.verdict.spread import LEVELS, quantile

_ROUNDING = 1e-9

OUTPUT = "output"
"""What is left of it, beside the losses."""


def losses(solved: Solved) -> Mapping[str, FloatArray]:
    """Compute where the power of the plate goes.

    Parameters
    ----------
    solved : Solved
        Of ``networks`` networks.

    Returns
    -------
    mapping of str to ndarray
        [W], shape ``(networks,)``: ``output``; the heat of every part by its name, of a winding its conductor
        alone; ``leads``, what a winding loses in leads, switch and cabinet; ``filter``, what stays in one behind
        the network; ``mismatch``, what the stage does not give because the plate does not see its load. Parts
        count all orders, the others the fundamental. On a tube's settled state there is no mismatch: what it
        would give into its load is another state.
    """
    current, impedance = np.abs(solved.current.phasors[:, 0]), solved.plate_impedance
    into_network = current**2 * impedance.real / 2
    found = {OUTPUT: solved.output_power}
    leads = np.zeros(len(solved.assembly))
    for name in PART_NAMES:
        stress = solved.stress.get(name)
        if stress is None or name == "band_switch":
            continue
        heat = np.where(stress.present, stress.loss, 0.0)
        wound = solved.assembly.wound.get(name)
        if wound is not None:
            own = np.where(wound.used, wound.conductor_share, 1.0)
            heat, leads = heat * own, leads + heat * (1 - own)
        if heat.any():
            found[name] = heat
    if leads.any():
        found["leads"] = leads
    terminal = solved.assembly.parts.termination
    if terminal is not None and terminal.delivered is not None:
        through = np.abs(solved.solution.branch_current["antenna"][:, 0]) * current
        found["filter"] = through**2 * terminal.impedance[:, 0].real / 2 - solved.output_power
    if solved.tube_state is None:
        whole = solved.assembly.stage.plate_power
        apart = whole - into_network
        found["mismatch"] = np.where(np.abs(apart) > _ROUNDING * whole, apart, 0.0)
    return found


def losses_of_band(
    solved: Solved, row: int, watts: Mapping[str, FloatArray], sampled: Mapping[str, FloatArray]
) -> tuple[Loss, ...]:
    """Return the loss table of one network: the output first, then the losses, largest first.

    Parameters
    ----------
    solved : Solved
        Of the amplifier as it stands.
    row : int
        Which network.
    watts : mapping of str to ndarray
        ``losses(solved)``.
    sampled : mapping of str to ndarray
        The same of this network in all amplifiers sampled, shape ``(samples,)``; empty where none were.
    """
    whole = _whole(solved, row)
    table = [_loss(place, float(values[row]), whole, sampled.get(place)) for place, values in watts.items()]
    return tuple(sorted(table, key=lambda loss: (loss.place != OUTPUT, -loss.watt)))


def _whole(solved: Solved, row: int) -> float:
    if solved.tube_state is None:
        return float(solved.assembly.stage.plate_power[row])
    return float(np.abs(solved.current.phasors[row, 0]) ** 2 * solved.plate_impedance[row].real / 2)


def _loss(place: str, watt: float, whole: float, sampled: FloatArray | None) -> Loss:
    if sampled is None:
        return Loss(place, watt, watt / whole)
    low, high = (number(quantile(sampled, level)) for level in LEVELS)
    return Loss(place, watt, watt / whole, low, high)
