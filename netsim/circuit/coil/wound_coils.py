"""The coils of a set of networks where they are wound: values at the taps, spread over the networks."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from netsim.circuit.coil.rings import turn_matrices
from netsim.circuit.coil.tapped_coil import (
    Size,
    TappedCoil,
    loop_shares,
    segment_ends,
    tapped_coil,
    turn_losses,
)
from netsim.circuit.coil.winding import Solenoid, Winding, place_runs
from netsim.circuit.elements import FloatArray, IndexArray


@dataclass(frozen=True)
class HeatedRun:
    """A solenoid, so many turns of it, whether they are in use, and their share of the coil's loss."""

    run: Solenoid
    turns: float
    in_use: bool
    share: float


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
    """

    winding: Winding
    q_allowance: float
    measured_q: float | None
    networks: int
    rows: IndexArray
    tapped: TappedCoil

    @property
    def used(self) -> npt.NDArray[np.bool_]:
        """Which networks use the winding, shape ``(networks,)``."""
        return np.isin(np.arange(self.networks), self.rows)

    def spread(self, values: FloatArray, absent: float = 0.0) -> FloatArray:
        """Return values at the taps as values over all networks.

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
    def self_capacitance(self) -> FloatArray:
        """Capacitance across the active turns [F], shape ``(networks,)``; 0 where an inductance is given."""
        return self.spread(self.tapped.self_capacitance)

    @property
    def loop_current_ratio(self) -> FloatArray:
        """Current of each loop over the coil's, amplitudes, shape ``(networks, loops)``."""
        return self.spread(np.abs(self.tapped.loop_current))

    @property
    def contact_current_ratio(self) -> FloatArray:
        """Current of the hardest worked contact over the coil's, amplitudes, shape ``(networks,)``."""
        return self.spread(self.tapped.contact_current.max(axis=1))

    @property
    def switch_voltage_ratio(self) -> FloatArray:
        """Voltage that the switch has to hold over that of the active turns, shape ``(networks,)``.

        1, for a deck stands between the ends of the coil; more where open turns step it up at their free end.
        """
        return self.spread(np.maximum(1.0, self.tapped.free_end_ratio))

    @cached_property
    def loop_loss_share(self) -> FloatArray:
        """Share of the coil's loss that arises in each loop, shape ``(networks, loops)``.

        Notes
        -----
        As computed for the sizes of the winding as it is; where a measured Q rules, the same shares of that.
        """
        return self.spread(loop_shares(self.winding, self.tapped.turns, self.tapped.frequency))

    @property
    def conductor_share(self) -> FloatArray:
        """Share of the coil's loss that heats its own conductor, loops included, shape ``(networks,)``.

        Notes
        -----
        What is computed for the wire over what the allowance or a measured Q makes of it; the rest is lost
        in leads, switch and cabinet.
        """
        return self.spread(np.minimum(1.0, self.tapped.wire_resistance / self.tapped.resistance))

    def heated(self, rows: IndexArray) -> list[list[HeatedRun]]:
        """Take the loss of the coil in some networks, by index, apart: by runs and by what is in use of them."""
        turns, frequency = (
            self.spread(values)[rows] for values in (self.tapped.turns, self.tapped.frequency)
        )
        losses = turn_losses(self.winding, turns, frequency)
        losses /= losses.sum(axis=(1, 2), keepdims=True)
        run_of = turn_matrices(self.winding.sections).run
        begin, end = segment_ends(self.winding, turns)
        found: list[list[HeatedRun]] = [[] for _ in rows]
        for number, placed in enumerate(place_runs(self.winding.sections)):
            if isinstance(placed.run, Solenoid):
                share = losses[:, :, run_of == number].sum(axis=2)
                length = placed.local(end) - placed.local(begin)
                for p, k in np.argwhere(length > 0.0):
                    part = HeatedRun(placed.run, float(length[p, k]), bool(k == 0), float(share[p, k]))
                    found[p].append(part)
        return found

    def take(self, index: IndexArray) -> "WoundCoil":
        """Return some of the networks by index, repeated or not, as `Parts.take` does."""
        place = np.full(self.networks, -1)
        place[self.rows] = np.arange(len(self.rows))
        chosen = place[index]
        rows = np.flatnonzero(chosen >= 0)
        return replace(self, networks=len(index), rows=rows, tapped=self.tapped.take(chosen[rows]))

    def at(self, turns: FloatArray, frequency: FloatArray) -> TappedCoil:
        """Compute the winding at other taps and frequencies [Hz]; see `tapped_coil`."""
        return tapped_coil(self.winding, turns, frequency, self.q_allowance, self.measured_q)

    def scaled(self, scale: Mapping[Size, FloatArray], **absolute: FloatArray) -> "WoundCoil":
        """Compute the same coil with other sizes in every network, in one go.

        Parameters
        ----------
        scale : mapping of (section, attribute) to ndarray
            Factors on a number of a section, such as ``(0, "mean_diameter")`` or ``(1, "resistivity")``,
            scalar or shape ``(networks,)``.
        **absolute : ndarray
            ``turns``, ``q_allowance``, ``measured_q``, ``lead_inductance`` [H] or ``strap_inductance`` [H], in
            place of the present, scalar or shape ``(networks,)``.

        Returns
        -------
        WoundCoil

        Notes
        -----
        For thousands of samples, `take` each network as often as there are samples. Every size costs one more
        solution of the turns, whatever the number of networks; see `tapped_coil` for how true it is.
        """

        def here(values: FloatArray) -> FloatArray:
            return np.broadcast_to(np.asarray(values, dtype=float), (self.networks,))[self.rows]

        given = {name: here(value) for name, value in absolute.items()}
        tapped = tapped_coil(
            self.winding,
            given.pop("turns", self.tapped.turns),
            self.tapped.frequency,
            given.pop("q_allowance", self.q_allowance),
            given.pop("measured_q", self.measured_q),
            scale={size: here(factor) for size, factor in scale.items()},
            **given,
        )
        return replace(self, tapped=tapped)


def wound_coil(
    winding: Winding,
    turns: FloatArray,
    frequency: FloatArray,
    q_allowance: float,
    measured_q: float | None,
) -> WoundCoil:
    """Compute a winding in all networks that use it.

    Parameters
    ----------
    winding : Winding
    turns : ndarray
        In use, shape ``(networks,)``; NaN where a coil is given by its inductance.
    frequency : ndarray
        [Hz], shape ``(networks,)``.
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
    return WoundCoil(winding, q_allowance, measured_q, len(turns), rows, tapped)


def coupling(coil: WoundCoil, output: WoundCoil) -> FloatArray:
    """Compute how the output coil couples to the tank coil.

    Parameters
    ----------
    coil, output : WoundCoil
        Of the same networks. The output coil's first section stands to the last of the tank coil as a next
        section would: ``gap`` further on along its axis, or at a right angle.

    Returns
    -------
    ndarray
        ``M / sqrt(L1 L2)`` of the coils at their taps with their loops shorted, shape ``(networks,)``; positive
        where both are wound in one sense and one current flows through both from their first turns on; 0 where
        one of them is given by its inductance.

    Notes
    -----
    The turns of both are solved together. Losses are left out, which shift loop currents by a part in Q, and
    what each does to the other's own inductance, which is of the order of the square of the coupling.
    """
    both = coil.used & output.used
    matrices = turn_matrices((*coil.winding.sections, *output.winding.sections))
    begins, ends, straps = [], [], []
    for wound, start in ((coil, 0.0), (output, coil.winding.turns)):
        begin, end = segment_ends(wound.winding, wound.spread(wound.tapped.turns)[both])
        kept = begin.shape[1] if wound.winding.has_loops else 1
        begins.append(begin[:, :kept] + start)
        ends.append(end[:, :kept] + start)
        straps.append(np.where(end > begin, wound.winding.strap_inductance, 1.0)[:, :kept])
    place = np.concatenate(begins, axis=1), np.concatenate(ends, axis=1)
    inductance = matrices.between(matrices.inductance[np.newaxis], place, place)[:, 0]
    second = begins[0].shape[1]
    loops = np.delete(np.arange(place[0].shape[1]), [0, second])
    shorted = inductance[:, loops[:, np.newaxis], loops].copy()
    shorted[:, np.arange(loops.size), np.arange(loops.size)] += np.concatenate(straps, axis=1)[:, loops]
    induced = np.linalg.solve(shorted, inductance[:, loops, second, np.newaxis])[..., 0]
    mutual = inductance[:, 0, second] - np.einsum("pl,pl->p", inductance[:, 0, loops], induced)
    own = (wound.spread(wound.tapped.inductance)[both] for wound in (coil, output))
    found = np.zeros(coil.networks)
    found[both] = mutual / np.sqrt(np.prod(list(own), axis=0))
    return found
