"""Voltages from the tap in use to the other contacts of a band switch."""

import numpy as np

from netsim.circuit.coil.partial_inductance import cumulative_inductance
from netsim.circuit.coil.tapped_coil import TappedCoil
from netsim.circuit.coil.winding import Winding
from netsim.circuit.elements import FloatArray


def contact_ratio(winding: Winding, tapped: TappedCoil, contacts: FloatArray) -> FloatArray:
    """Give the voltage from the tap to other places of the winding.

    Parameters
    ----------
    winding : Winding
    tapped : TappedCoil
        The coil at p taps.
    contacts : ndarray
        Places in turns from the plate end, shape ``(c,)``.

    Returns
    -------
    ndarray
        Over the voltage across the active turns, amplitudes, shape ``(p, c)``.

    Notes
    -----
    Per ampere of coil current, the flux between a place y and the plate end is
    ``F(y) = C(y, x) + sum of i_k (C(y, end_k) - C(y, begin_k))`` over the loops k with the relative current
    i_k; x is the tap. The ratio is ``|F(x) - F(y)| / L``. Resistances are left out, which matters only
    inside a shorted loop, where little voltage is left; and so is self-capacitance, which `TappedCoil`
    reckons with at the free end. Derived from the definition of mutual inductance.
    """
    taps = tapped.turns
    edges = np.asarray(winding.loop_edges, dtype=float)
    itself, to_contacts = cumulative_inductance(winding, taps, tuple(contacts))
    _, to_edges = cumulative_inductance(winding, taps, winding.loop_edges)
    _, contact_to_edges = cumulative_inductance(winding, contacts, winding.loop_edges)
    flux_at_tap, flux = itself.astype(np.complex128), to_contacts.astype(np.complex128)
    for loop in range(max(edges.size - 1, 0)):
        current = tapped.loop_current[:, loop]
        ends = []
        for edge in (loop, loop + 1):
            active = edges[edge] <= taps
            ends.append(
                (
                    np.where(active, itself, to_edges[:, edge]),
                    np.where(active[:, None], to_contacts, contact_to_edges[:, edge]),
                )
            )
        flux_at_tap += current * (ends[1][0] - ends[0][0])
        flux += current[:, None] * (ends[1][1] - ends[0][1])
    return np.asarray(np.abs(flux_at_tap[:, None] - flux) / tapped.inductance[:, None])
