"""Currents and losses of the shorted turns of the coils, and the voltage of open ones, point by point."""

from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.verdict.result import CoilLoop
from netsim.verdict.stress import Stress


def loops(wound: WoundCoil, coil: Stress, row: int) -> tuple[CoilLoop, ...]:
    """Give the shorted loops of one network, from the tap outwards.

    Parameters
    ----------
    wound : WoundCoil
    coil : Stress
        Of that coil.
    row : int
        The network.

    Returns
    -------
    tuple of CoilLoop
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
