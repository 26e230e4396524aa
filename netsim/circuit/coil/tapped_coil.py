"""A wound coil at its taps: effective inductance and Q, shorted loops, contacts, the free end.

All of it are sums over the turns' matrices: the turns in use are one segment, each shorted loop another.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.coil.conductor import THINNEST_CONDUCTOR, skin_depth, surface_resistance
from netsim.circuit.coil.rings import turn_matrices
from netsim.circuit.coil.self_capacitance import self_capacitance, self_resonance
from netsim.circuit.coil.winding import PlacedRun, Solenoid, Winding, place_runs
from netsim.circuit.elements import ComplexArray, FloatArray

Size = tuple[int, str]
"""A number of a winding that can be off: which section, and the name of its attribute."""

_STEP = 0.005
_STEEPEST = 8.0
_MOST_NUMBERS = 2_000_000
"""Of an array over places, turns and filaments, so that thousands of places on a long coil take some 100 MB."""


@dataclass(frozen=True)
class TappedCoil:
    """A coil at p positions of its tap; every array has the first axis p, loops the second axis k.

    Attributes
    ----------
    turns, frequency : ndarray, shape (p,)
        Active turns from the plate end; [Hz].
    inductance : ndarray, shape (p,)
        Effective between plate end and tap [H]: leads in, loops shorted, self-capacitance not in.
    resistance : ndarray, shape (p,)
        Effective series resistance [ohm], the losses of the loops in it.
    q : ndarray, shape (p,)
        ``2 pi f inductance / resistance``.
    wire_resistance : ndarray, shape (p,)
        What the wire of turns in use and loops has of it [ohm]; the rest is lost in leads, switch and cabinet.
    loop_turns : ndarray, shape (p, k)
        Turns of each loop, 0 where the loop is wholly active.
    loop_current : ndarray of complex, shape (p, k)
        Per ampere through the coil (phasor or rms alike); near -M / L.
    contact_current : ndarray, shape (p, k + 1)
        Amplitude per ampere through the coil, of the contact at the tap, at the ends of the loops, and at the
        far end; 0 where a contact is within the active turns.
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
    thin_conductor : ndarray of bool, shape (p,)
        Where a conductor in use is thinner than five skin depths, so that the surface current is a guess.
    """

    turns: FloatArray
    frequency: FloatArray
    inductance: FloatArray
    resistance: FloatArray
    q: FloatArray
    wire_resistance: FloatArray
    loop_turns: FloatArray
    loop_current: ComplexArray
    contact_current: FloatArray
    self_capacitance: FloatArray
    self_resonance: FloatArray
    free_end_ratio: FloatArray
    free_end_resonance: FloatArray
    thin_conductor: NDArray[np.bool_]

    def take(self, index: NDArray[np.intp]) -> "TappedCoil":
        """Return some of the positions by index, repeated or not."""
        return replace(self, **{entry.name: getattr(self, entry.name)[index] for entry in fields(self)})


class Segments(NamedTuple):
    """Turns in use (first) and what is left of the winding, at p places; k segments."""

    inductance: FloatArray
    """Each with each [H], leads and straps left out, shape (p, k, k)."""
    resistance: FloatArray
    """Each with each [ohm], the wire's alone, shape (p, k, k)."""
    capacitance: FloatArray
    """Medhurst's, of each segment [F], shape (p, k)."""


def tapped_coil(
    winding: Winding,
    turns: ArrayLike,
    frequency: ArrayLike,
    q_allowance: ArrayLike = 1.0,
    measured_q: ArrayLike | None = None,
    *,
    scale: Mapping[Size, ArrayLike] | None = None,
    lead_inductance: ArrayLike | None = None,
    strap_inductance: ArrayLike | None = None,
) -> TappedCoil:
    """Compute a coil at many positions of its tap at once.

    Parameters
    ----------
    winding : Winding
    turns : array_like
        Active turns from the plate end, scalar or shape (p,).
    frequency : array_like
        [Hz], scalar or shape (p,), above 0.
    q_allowance : array_like, optional
        Share of the computed Q that leads, switch and cabinet leave; the wire's resistance is divided by it.
    measured_q : array_like, optional
        Unloaded Q measured on the coil in place. The effective resistance is then ``2 pi f L / measured_q``
        at every tap, without allowance.
    scale : mapping of (section, attribute) to array_like, optional
        Factors, scalar or (p,), on numbers of the winding's sections, such as ``(0, "pitch")``.
    lead_inductance, strap_inductance : array_like, optional
        [H], scalar or (p,), in place of the winding's.

    Returns
    -------
    TappedCoil

    Raises
    ------
    DescriptionError
        As `Winding.snapped`.

    Notes
    -----
    Loops: with Z = R + j w L over the active segment (1) and the loops (2), per ampere of coil current the
    loops carry ``-Z22^-1 Z21`` and the coil shows ``Z11 - Z12 Z22^-1 Z21``. A loop's inductance has that of
    its strap in it; resistance of switch contacts is left out. By Kirchhoff, the contact at the tap carries
    the coil's current less the first loop's, a contact between two loops their difference, the last strap the
    last loop's. Where the loss arises is told by `turn_losses`.

    Free end: the open turns are a secondary of inductance L2 with Medhurst's
    capacitance C2 at its end, so the ratio is ``w M / (|Z11| |1 - w^2 L2 C2 + j w C2 R2|)``. The lumped
    capacitance fails as the frequency nears the self-resonance of the open turns, and what their charging
    current does to Z11 is left out: a share ``k^2 (f/f2)^2`` of it.

    Scale: each inductance and resistance goes with a power of each factor, whose exponent is taken from one
    step of half a per cent. For 8 % on a diameter or pitch, inductances are true to 0.2 %, resistances to 1 %.
    """
    places, hertz = np.broadcast_arrays(
        np.atleast_1d(np.asarray(turns, dtype=float)), np.asarray(frequency, dtype=float)
    )
    if places.size > (at_a_time := _places_at_a_time(winding)):
        return _joined(
            tapped_coil(
                winding,
                places[some],
                hertz[some],
                np.broadcast_to(q_allowance, places.shape)[some],
                _of(measured_q, some, places.size),
                scale={size: np.broadcast_to(f, places.shape)[some] for size, f in (scale or {}).items()},
                lead_inductance=_of(lead_inductance, some, places.size),
                strap_inductance=_of(strap_inductance, some, places.size),
            )
            for some in (slice(n, n + at_a_time) for n in range(0, places.size, at_a_time))
        )
    active = winding.snapped(places)
    (taps, tones), where = np.unique(np.stack([active, hertz]), axis=1, return_inverse=True)
    where = where.reshape(-1)
    found = _scaled(_segments(winding, taps, tones), winding, taps, tones, where, scale or {})
    lead = winding.lead_inductance if lead_inductance is None else np.asarray(lead_inductance)
    strap = winding.strap_inductance if strap_inductance is None else np.asarray(strap_inductance)

    omega = 2.0 * np.pi * hertz
    begin, end = segment_ends(winding, active)
    loop_turns = (end - begin)[:, 1:] if winding.has_loops else np.zeros((active.size, 0))
    is_loop = loop_turns > 0.0
    loops = 1 + loop_turns.shape[1]
    current = _currents(found, omega, is_loop, strap)
    impedance = found.resistance + 1j * omega[:, np.newaxis, np.newaxis] * found.inductance
    effective = np.einsum("pk,pk->p", impedance[:, 0, :loops], current) + 1j * omega * lead
    inductance = effective.imag / omega
    dropped = np.einsum("pkl,pl->pk", found.resistance[:, :loops, :loops], current)
    wire = np.einsum("pk,pk->p", np.conj(current), dropped).real
    measured = None if measured_q is None else omega * inductance / np.asarray(measured_q)
    resistance = wire / np.asarray(q_allowance) if measured is None else measured
    # Within the active turns the coil's own current flows on.
    chain = np.concatenate(
        [current[:, :1], np.where(is_loop, current[:, 1:], 1.0), np.zeros((active.size, 1))], axis=1
    )
    ratio, resonance = _free_end(winding, found, omega, effective)
    return TappedCoil(
        turns=active,
        frequency=hertz,
        inductance=inductance,
        resistance=resistance,
        q=omega * inductance / resistance,
        wire_resistance=wire,
        loop_turns=loop_turns,
        loop_current=current[:, 1:],
        contact_current=np.abs(np.diff(chain, axis=1)),
        self_capacitance=found.capacitance[:, 0],
        self_resonance=self_resonance(inductance, found.capacitance[:, 0]),
        free_end_ratio=ratio,
        free_end_resonance=resonance,
        thin_conductor=_thin_conductor(winding, active, hertz),
    )


def _places_at_a_time(winding: Winding) -> int:
    """Bound the places by the largest arrays over them: filaments' currents, heat of every turn by segment."""
    turns, filaments = turn_matrices(winding.sections).squares.shape
    return max(1, _MOST_NUMBERS // int(turns * max(filaments, len(winding.loop_edges) + 1)))


def _of(values: ArrayLike | None, some: slice, count: int) -> FloatArray | None:
    """Take what belongs to some of the places of values that are scalar or one for each, or nothing."""
    return None if values is None else np.broadcast_to(values, (count,))[some]


def _joined(blocks: Iterable[TappedCoil]) -> TappedCoil:
    columns = zip(*([getattr(b, e.name) for e in fields(b)] for b in blocks), strict=True)
    return TappedCoil(*(np.concatenate(column) for column in columns))


def segment_ends(winding: Winding, turns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the active turns and the loops begin and end [turns], two of shape (p, k)."""
    edges = np.maximum(np.asarray(winding.loop_edges), turns[:, np.newaxis])
    nothing = np.zeros((turns.size, 1))
    begin = np.concatenate([nothing, edges[:, :-1]], axis=1)
    end = np.concatenate([turns[:, np.newaxis], edges[:, 1:]], axis=1)
    return begin, end


def loop_shares(winding: Winding, turns: FloatArray, frequency: FloatArray) -> FloatArray:
    """Compute the shares of the wire's resistance that arise in each of k loops, shape (p, k); see `turn_losses`."""
    (taps, tones), where = np.unique(np.stack([turns, frequency]), axis=1, return_inverse=True)
    heat = [
        turn_losses(winding, taps[some], tones[some]).sum(axis=2)
        for n in range(0, taps.size, _places_at_a_time(winding))
        for some in [slice(n, n + _places_at_a_time(winding))]
    ]
    share = np.concatenate([one / one.sum(axis=1, keepdims=True) for one in heat])
    loops = share.shape[1] - 1 if winding.has_loops else 0
    return share[where.reshape(-1), 1 : loops + 1]


def turn_losses(winding: Winding, turns: FloatArray, frequency: FloatArray) -> FloatArray:
    """Compute where on a coil its loss arises.

    Parameters
    ----------
    winding : Winding
    turns, frequency : ndarray, shape (p,)
        Active turns, [Hz].

    Returns
    -------
    ndarray, shape (p, k, n)
        Resistance [ohm] that each of n turns of `turn_matrices` adds to the coil's, by the segment in which it
        lies: active turns, then what is left of the winding. Their sum is the resistance of the wire.

    Notes
    -----
    Squares of the filaments' currents, so that what a turn loses in its neighbours' field counts where the
    heat is, also in turns that carry no current. Within a turn that a tap divides, its own part goes by arc,
    as in `TurnMatrices.between`.
    """
    matrices = turn_matrices(winding.sections)
    begin, end = segment_ends(winding, turns)
    found = _segments(winding, turns, frequency)
    is_loop = (end > begin)[:, 1:] & winding.has_loops
    current = _currents(found, 2.0 * np.pi * frequency, is_loop, winding.strap_inductance)
    arcs = matrices.coverage(end) - matrices.coverage(begin)
    mean = np.einsum("pk,pkn->pn", current, arcs)
    # Real and imaginary parts side by side: a complex product would copy the filaments' matrix each time.
    count, per_turn = matrices.squares.shape
    parts = matrices.filaments.reshape(-1, count) @ np.concatenate([mean.real, mean.imag]).T
    power = (parts**2).reshape(count, per_turn, 2, turns.size).sum(axis=2)
    factors = _loss_factors(place_runs(winding.sections), frequency)
    heat = factors[:, matrices.run] * np.einsum("nmp,nm->pn", power, matrices.squares)
    own = factors @ np.diagonal(matrices.loss, axis1=1, axis2=2)
    shared = (heat - np.abs(mean) ** 2 * own) / matrices.spans
    by_arc = np.abs(current[:, :, np.newaxis]) ** 2 * own[:, np.newaxis]
    return np.asarray(arcs * (shared[:, np.newaxis] + by_arc))


def _currents(
    found: Segments, omega: FloatArray, is_loop: NDArray[np.bool_], strap: float | FloatArray
) -> ComplexArray:
    """Currents of the active turns, 1, and of what else is in `is_loop`, shape (p, 1 + loops)."""
    count = is_loop.shape[1]
    kept = slice(1, count + 1)
    impedance = found.resistance + 1j * omega[:, np.newaxis, np.newaxis] * found.inductance
    loops = impedance[:, kept, kept].copy()
    # What is no loop has no current: no coupling, and 1 ohm.
    coupling = np.where(is_loop, impedance[:, kept, 0], 0.0)
    closed = np.where(is_loop, 1j * (omega * strap)[:, np.newaxis], 1.0)
    loops[:, np.arange(count), np.arange(count)] += closed
    current = -np.linalg.solve(loops, coupling[..., np.newaxis])[..., 0]
    return np.concatenate([np.ones((omega.size, 1)), current], axis=1)


def _free_end(
    winding: Winding, found: Segments, omega: FloatArray, effective: ComplexArray
) -> tuple[FloatArray, FloatArray]:
    """Voltage ratio of the free end and self-resonance of the open turns, see `tapped_coil`."""
    if winding.has_loops:
        return np.zeros(omega.size), np.full(omega.size, np.inf)
    own, capacitance = found.inductance[:, 1, 1], found.capacitance[:, 1]
    divider = 1.0 - omega**2 * own * capacitance + 1j * omega * capacitance * found.resistance[:, 1, 1]
    return np.abs(omega * found.inductance[:, 0, 1] / (effective * divider)), self_resonance(own, capacitance)


def _scaled(
    plain: Segments,
    winding: Winding,
    turns: FloatArray,
    frequency: FloatArray,
    where: NDArray[np.intp],
    scale: Mapping[Size, ArrayLike],
) -> Segments:
    """Spread the segments over the places that have them, each scaled by its own factors."""
    growth, shift = ([np.zeros((where.size, *entry.shape[1:])) for entry in plain] for _ in range(2))
    for (section, name), factor in scale.items():
        # Wire is made thinner, all else larger: what can be wound still can.
        step = -_STEP if name == "conductor_diameter" else _STEP
        part = winding.sections[section]
        other = replace(part, **{name: getattr(part, name) * (1.0 + step)})
        sections = (*winding.sections[:section], other, *winding.sections[section + 1 :])
        moved = _segments(replace(winding, sections=sections), turns, frequency)
        size = np.broadcast_to(np.log(np.asarray(factor, dtype=float)), where.shape)
        for entry, (before, after) in enumerate(zip(plain, moved, strict=True)):
            column = size.reshape(-1, *[1] * (before.ndim - 1))
            slope = (after - before) / np.log1p(step)
            # What is nearly zero, such as the resistance that far segments share, has no power.
            power = np.abs(slope) < _STEEPEST * np.abs(before)
            exponent = np.divide(slope, before, out=np.zeros_like(before), where=power)
            growth[entry] += column * exponent[where]
            shift[entry] += column * np.where(power, 0.0, slope)[where]
    return Segments(
        *(entry[where] * np.exp(more) + by for entry, more, by in zip(plain, growth, shift, strict=True))
    )


def _segments(winding: Winding, turns: FloatArray, frequency: FloatArray) -> Segments:
    matrices, placed = turn_matrices(winding.sections), place_runs(winding.sections)
    ends = segment_ends(winding, turns)
    loss = matrices.between(matrices.loss, ends, ends)
    factors = _loss_factors(placed, frequency)
    return Segments(
        matrices.between(matrices.inductance[np.newaxis], ends, ends)[:, 0],
        np.einsum("pr,prkl->pkl", factors, loss),
        _capacitance(placed, *ends),
    )


def _loss_factors(placed: list[PlacedRun], frequency: FloatArray) -> FloatArray:
    """Give what turns the loss of each run into a resistance, shape (p, runs); see `TurnMatrices`."""
    factors = [
        surface_resistance(item.run.conductor_diameter, item.run.resistivity, frequency)
        if isinstance(item.run, Solenoid)
        else 2.0 * np.pi * frequency
        for item in placed
    ]
    return np.stack(factors, axis=-1)


def _thin_conductor(winding: Winding, turns: FloatArray, frequency: FloatArray) -> NDArray[np.bool_]:
    thin = np.zeros(turns.shape, dtype=bool)
    for item in place_runs(winding.sections):
        if isinstance(item.run, Solenoid):
            depth = skin_depth(item.run.resistivity, frequency)
            thin |= (item.local(turns) > 0.0) & (item.run.conductor_diameter < THINNEST_CONDUCTOR * depth)
    return thin


def _capacitance(placed: list[PlacedRun], begin: FloatArray, end: FloatArray) -> FloatArray:
    """Medhurst's capacitance [F] of one solenoid as long and as wide as each segment; 0 for toroids."""
    length, weighted, turns = np.zeros((3, *begin.shape))
    for item in placed:
        if isinstance(item.run, Solenoid):
            here = item.local(end) - item.local(begin)
            turns += here
            weighted += here * item.run.mean_diameter
            length += here * item.run.pitch
    wound = turns > 0.0
    diameter = np.where(wound, weighted, 1.0) / np.where(wound, turns, 1.0)
    return np.asarray(np.where(wound, self_capacitance(diameter, np.where(wound, length, 1.0)), 0.0))
