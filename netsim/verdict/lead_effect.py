"""How far leads that nobody measured would move the harmonics."""

from dataclasses import replace

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.peaking import settings
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch

USUAL_LEAD = 30e-9
"""Inductance of some 30 mm of wire and a capacitor's frame [H] (common practice, no source)."""

LEADS_COUNT_ABOVE = 40e6
"""Frequency from which it is worth saying how far leads would move a level [Hz] (common practice, no source)."""


def level_change(
    parts: Parts,
    tune: FloatArray | None = None,
    load: FloatArray | None = None,
    lead: float = USUAL_LEAD,
) -> FloatArray:
    """Solve every network without and with a lead at the load capacitor and compare the harmonics' levels.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    tune, load : ndarray, optional
        Settings that stay as they are [F]; by default both networks are tuned, each for itself.
    lead : float
        Its inductance [H], in place of what the load capacitor's lead has.

    Returns
    -------
    ndarray
        By how much the level rises [dB], negative where it falls, orders 1 to 10, shape ``(networks, 10)``.

    Notes
    -----
    The plate current is the same in both, so the level rises by what the attenuation loses. Capacitor C and lead
    L short the harmonics' way at ``1 / (2 pi sqrt(L C))``: a harmonic below that resonance falls, one above it
    rises.
    """
    orders = np.arange(1.0, ORDERS + 1)

    def relative(network: Parts) -> FloatArray:
        stand = settings(network)[:2] if tune is None or load is None else (tune, load)
        current = np.abs(batch.solve(build_ladder(network, *stand), orders).branch_current["antenna"])
        power = current**2 * network.antenna_delivery(orders)
        return np.asarray(10 * np.log10(power / power[:, :1]))

    return relative(replace(parts, load_lead=np.asarray(lead))) - relative(
        replace(parts, load_lead=np.zeros(()))
    )
