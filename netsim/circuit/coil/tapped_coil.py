"""A wound coil at its taps: effective inductance and Q, currents and heat of shorted loops, the free end."""

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.coil.conductor_loss import skin_depth
from netsim.circuit.coil.medhurst import (
    Reservations,
    reservations,
    self_capacitance,
    self_resonance,
)
from netsim.circuit.coil.partial_inductance import cumulative_inductance, inductance_matrix
from netsim.circuit.coil.partial_resistance import stretch_resistance
from netsim.circuit.coil.winding import Solenoid, Winding, place_runs

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class TappedCoil:
    """A coil at p positions of its tap; every array has the first axis p, loops the second axis k.

    Attributes
    ----------
    turns, frequency : ndarray, shape (p,)
        Active turns from the plate end; [Hz].
    inductance : ndarray, shape (p,)
        Effective between plate end and tap [H]: leads in, loops shorted.
    resistance : ndarray, shape (p,)
        Effective series resistance [ohm], the losses of the loops in it.
    q : ndarray, shape (p,)
        ``2 pi f inductance / resistance``.
    open_inductance, open_resistance : ndarray, shape (p,)
        The active turns with no loop near, leads in [H], [ohm].
    loop_turns : ndarray, shape (p, k)
        Turns of each loop, 0 where the loop is wholly active.
    loop_current : ndarray of complex, shape (p, k)
        Per ampere through the coil (phasor or rms alike); near -M / L.
    loop_resistance : ndarray, shape (p, k)
        Share of `resistance` [ohm] that is this loop's loss: loss = share times the square of the coil's
        rms current.
    self_capacitance : ndarray, shape (p,)
        Medhurst's, of the active turns [F].
    self_resonance : ndarray, shape (p,)
        Of `inductance` with `self_capacitance` [Hz].
    free_end_ratio : ndarray, shape (p,)
        Voltage from the tap to the free end over the voltage across the active turns, amplitudes; 0 unless
        the unused turns are open.
    free_end_resonance : ndarray, shape (p,)
        Self-resonance of the open turns [Hz]; infinite where there are none. The ratio is good while the
        frequency is below a third of this, an indication up to two thirds, and no more beyond.
    outside_measurements : Reservations
        Of the active turns, arrays of shape (p,).
    """

    turns: Floats
    frequency: Floats
    inductance: Floats
    resistance: Floats
    q: Floats
    open_inductance: Floats
    open_resistance: Floats
    loop_turns: Floats
    loop_current: NDArray[np.complex128]
    loop_resistance: Floats
    self_capacitance: Floats
    self_resonance: Floats
    free_end_ratio: Floats
    free_end_resonance: Floats
    outside_measurements: Reservations

    def take(self, index: NDArray[np.intp]) -> "TappedCoil":
        """Choose some of the positions by index, repeated or not."""
        chosen: dict[str, Any] = {
            entry.name: getattr(self, entry.name)[index]
            for entry in fields(self)
            if entry.name != "outside_measurements"
        }
        reserved = Reservations(*(reason[index] for reason in self.outside_measurements))
        return replace(self, **chosen, outside_measurements=reserved)


def _reservations(winding: Winding, turns: Floats, frequency: Floats) -> Reservations:
    """Gather, over the runs in use, why the resistance stands outside the measurements."""
    found = Reservations(*(np.zeros(turns.shape, dtype=bool) for _ in Reservations._fields))
    for item in place_runs(winding):
        run, used = item.run, item.local(turns)
        if isinstance(run, Solenoid):
            depth = run.conductor_diameter / skin_depth(run.resistivity, frequency)
            shape, spacing = used * run.pitch / run.mean_diameter, run.pitch / run.conductor_diameter
            here = reservations(used, shape, spacing, depth)
            found = Reservations(*(old | (new & (used > 0.0)) for old, new in zip(found, here, strict=True)))
    return found


def _stretch_capacitance(winding: Winding, begin: Floats, end: Floats) -> Floats:
    """Medhurst's capacitance [F] of one solenoid as long and as wide as the stretch; 0 for toroids."""
    length, weighted, turns = np.zeros((3, *np.broadcast_shapes(begin.shape, end.shape)))
    for item in place_runs(winding):
        if isinstance(item.run, Solenoid):
            here = item.local(end) - item.local(begin)
            turns += here
            weighted += here * item.run.mean_diameter
            length += here * item.run.pitch
    wound = turns > 0.0
    diameter = np.where(wound, weighted, 1.0) / np.where(wound, turns, 1.0)
    return np.asarray(np.where(wound, self_capacitance(diameter, np.where(wound, length, 1.0)), 0.0))


def _free_end(
    winding: Winding, turns: Floats, frequency: Floats, across: NDArray[np.complex128], share: float
) -> tuple[Floats, Floats]:
    """Give the free-end ratio and the self-resonance of open turns, see `tapped_coil`."""
    end = winding.turns
    itself, against = cumulative_inductance(winding, turns, (end,))
    whole = cumulative_inductance(winding, np.array([end]), (end,))[0]
    mutual = against[:, 0] - itself
    own = whole + itself - 2.0 * against[:, 0]
    used_up = turns >= end
    own = np.where(used_up, 0.0, own)
    far = np.full(turns.shape, end)
    capacitance = np.where(used_up, 0.0, _stretch_capacitance(winding, turns, far))
    omega = 2.0 * np.pi * frequency
    loss = stretch_resistance(winding, turns, far, frequency) / share
    divider = 1.0 - omega**2 * own * capacitance + 1j * omega * capacitance * loss
    ratio = np.where(used_up, 0.0, np.abs(omega * mutual / (across * divider)))
    return ratio, self_resonance(own, capacitance)


def tapped_coil(
    winding: Winding,
    turns: ArrayLike,
    frequency: ArrayLike,
    q_allowance: float = 1.0,
    measured_q: float | None = None,
) -> TappedCoil:
    """Work out a coil at many positions of its tap at once.

    Parameters
    ----------
    winding : Winding
    turns : array_like
        Active turns from the plate end, scalar or shape (p,).
    frequency : array_like
        [Hz], scalar or shape (p,), above 0.
    q_allowance : float, optional
        Share of the computed Q that leads, switch and cabinet leave; every resistance is divided by it.
    measured_q : float, optional
        Unloaded Q measured on the coil in place. The effective resistance is then ``2 pi f L / measured_q``
        at every tap, without allowance; the loops keep the share that is computed for them.

    Returns
    -------
    TappedCoil

    Raises
    ------
    DescriptionError
        A position is off the winding, or a fraction of a turn on a toroid.

    Notes
    -----
    Loops: with Z = R + j w L over the active stretch (1) and the loops (2), per ampere of coil current the
    loops carry ``-Z22^-1 Z21`` and the coil shows ``Z11 - Z12 Z22^-1 Z21``. R is the skin effect of the
    wire times Medhurst's factor, each stretch by its own length; eddy currents that one stretch drives in
    another are left out, and so is what the switch contacts and the short itself add: the current of a loop
    of less than a turn is an upper estimate.

    Free end: the open turns are a secondary of inductance L2 with Medhurst's capacitance C2 at its end, so
    the ratio is ``w M / (|Z11| |1 - w^2 L2 C2 + j w C2 R2|)``; without capacitance, M / L11. The lumped
    capacitance fails as the frequency nears the self-resonance of the open turns. What their charging
    current does to Z11 is left out: a share ``k^2 (f/f2)^2`` of it.
    """
    places, hertz = np.broadcast_arrays(
        np.atleast_1d(np.asarray(turns, dtype=float)), np.asarray(frequency, dtype=float)
    )
    active = winding.snapped(places)
    inductances = inductance_matrix(winding, active)
    # One frequency for all is kept as one: the Bessel functions of the skin effect are then worked out once.
    at = np.asarray(frequency, dtype=float).reshape(-1)
    omega = 2.0 * np.pi * at
    edges = np.asarray(winding.loop_edges, dtype=float)
    reached = np.maximum(edges, active[:, None])
    begin, end = reached[:, :-1], reached[:, 1:]
    share = 1.0 if measured_q is not None else q_allowance
    own = stretch_resistance(winding, np.zeros(1), active, at) / share
    loop_resistance = stretch_resistance(winding, begin, end, at[:, None]) / share

    impedance = 1j * omega[:, None, None] * inductances
    loops = np.arange(1, inductances.shape[-1])
    impedance[:, 0, 0] += own
    # A loop that is wholly active has no impedance and no coupling; 1 ohm makes its current 0.
    impedance[:, loops, loops] += np.where(end > begin, loop_resistance, 1.0)
    coupling = impedance[:, 1:, 0]
    current = -np.linalg.solve(impedance[:, 1:, 1:], coupling[..., None])[..., 0]
    effective = np.asarray(impedance[:, 0, 0] + np.sum(coupling * current, axis=-1), dtype=np.complex128)

    inductance = effective.imag / omega
    measured = None if measured_q is None else omega * inductance / measured_q
    resistance = np.asarray(effective.real if measured is None else measured, dtype=np.float64)
    capacitance = _stretch_capacitance(winding, np.zeros(1), active)
    if winding.unused_turns == "open":
        ratio, free_resonance = _free_end(winding, active, at, effective, share)
    else:
        ratio, free_resonance = np.zeros(active.shape), np.full(active.shape, np.inf)
    return TappedCoil(
        turns=active,
        frequency=hertz,
        inductance=inductance,
        resistance=resistance,
        q=effective.imag / resistance,
        open_inductance=inductances[:, 0, 0],
        open_resistance=own,
        loop_turns=end - begin,
        loop_current=np.asarray(current, dtype=complex),
        loop_resistance=loop_resistance * np.abs(current) ** 2,
        self_capacitance=capacitance,
        self_resonance=self_resonance(inductance, capacitance),
        free_end_ratio=ratio,
        free_end_resonance=free_resonance,
        outside_measurements=_reservations(winding, active, at),
    )
