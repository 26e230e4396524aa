"""The coils of a set of networks where they are wound: values at the taps, spread over the networks."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from netsim.circuit.coil.switch_contacts import contact_ratio
from netsim.circuit.coil.tapped_coil import TappedCoil, tapped_coil
from netsim.circuit.coil.winding import Winding
from netsim.circuit.elements import FloatArray

Rows = npt.NDArray[np.intp]


@dataclass(frozen=True)
class WoundCoil:
    """One winding, and what it is in those networks that count in turns.

    Attributes
    ----------
    winding : Winding
        As wound.
    q_allowance : float
        Share of the computed Q that leads, switch and cabinet leave.
    measured_q : float or None
        Of the coil in place; replaces the computed Q.
    networks : int
        How many there are in all.
    rows : ndarray of int
        Which of them use the winding, shape ``(p,)``.
    tapped : TappedCoil
        The coil at these p taps.
    open_contact_ratio : ndarray
        Largest voltage from the tap to another switch contact, over the voltage across the active turns;
        shape ``(p,)``, 0 without other contacts. The free end of open turns counts as a contact.
    """

    winding: Winding
    q_allowance: float
    measured_q: float | None
    networks: int
    rows: Rows
    tapped: TappedCoil
    open_contact_ratio: FloatArray

    @property
    def used(self) -> npt.NDArray[np.bool_]:
        """Which networks use the winding, shape ``(networks,)``."""
        return np.isin(np.arange(self.networks), self.rows)

    def spread(self, values: FloatArray, absent: float = 0.0) -> FloatArray:
        """Give values at the taps as values over all networks.

        Parameters
        ----------
        values : ndarray
            Shape ``(p, ...)``.
        absent : float
            For networks whose coil is given by its inductance.

        Returns
        -------
        ndarray
            Shape ``(networks, ...)``.
        """
        spread = np.full((self.networks, *values.shape[1:]), absent)
        spread[self.rows] = values
        return spread

    @property
    def loop_current_ratio(self) -> FloatArray:
        """Current of each loop over the coil's, amplitudes, shape ``(networks, loops)``."""
        return self.spread(np.abs(self.tapped.loop_current))

    @property
    def loop_loss_share(self) -> FloatArray:
        """Share of the coil's loss that each loop has, shape ``(networks, loops)``.

        Notes
        -----
        As computed; where a measured Q rules, the same shares of what is measured.
        """
        total = self.tapped.open_resistance + self.tapped.loop_resistance.sum(axis=1)
        return self.spread(self.tapped.loop_resistance / total[:, np.newaxis])

    @property
    def conductor_share(self) -> FloatArray:
        """Share of the coil's loss that heats its own conductor, loops included, shape ``(networks,)``.

        Notes
        -----
        What is computed for the wire over what the allowance or a measured Q makes of it; the rest is lost
        in leads, switch and cabinet.
        """
        computed = self.tapped.open_resistance + self.tapped.loop_resistance.sum(axis=1)
        wire = computed * (self.q_allowance if self.measured_q is None else 1.0)
        return self.spread(np.minimum(1.0, wire / self.tapped.resistance))

    def take(self, index: Rows) -> "WoundCoil":
        """Choose some of the networks by index, repeated or not, as `Parts.take` does."""
        place = np.full(self.networks, -1)
        place[self.rows] = np.arange(len(self.rows))
        chosen = place[index]
        rows = np.flatnonzero(chosen >= 0)
        some = chosen[rows]
        return replace(
            self,
            networks=len(index),
            rows=rows,
            tapped=self.tapped.take(some),
            open_contact_ratio=self.open_contact_ratio[some],
        )

    def at(self, turns: FloatArray, frequency: FloatArray) -> TappedCoil:
        """Work the winding out at other taps and frequencies [Hz]; see `tapped_coil`."""
        return tapped_coil(self.winding, turns, frequency, self.q_allowance, self.measured_q)


def wound_coil(
    winding: Winding,
    turns: FloatArray,
    frequency: FloatArray,
    contacts: FloatArray,
    q_allowance: float,
    measured_q: float | None,
) -> WoundCoil:
    """Work out a winding in all networks that use it.

    Parameters
    ----------
    winding : Winding
    turns : ndarray
        In use, shape ``(networks,)``; NaN where a coil is given by its inductance.
    frequency : ndarray
        [Hz], shape ``(networks,)``.
    contacts : ndarray
        Places of all contacts of the band switch in turns, repeated or not.
    q_allowance, measured_q
        See `tapped_coil`.

    Returns
    -------
    WoundCoil

    Raises
    ------
    DescriptionError
        A place is off the winding.
    """
    rows = np.flatnonzero(~np.isnan(turns))
    tapped = tapped_coil(winding, turns[rows], frequency[rows], q_allowance, measured_q)
    ratio = contact_ratio(winding, tapped, np.unique(contacts)).max(axis=1)
    ratio = np.maximum(ratio, tapped.free_end_ratio)
    return WoundCoil(winding, q_allowance, measured_q, len(turns), rows, tapped, ratio)
