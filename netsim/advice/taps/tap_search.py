"""Every place on a winding where a tap could be, tried in all networks at once."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from netsim.circuit.assembly import Assembly
from netsim.circuit.coil.winding import Winding
from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import BoolArray, edge_between, match

_WHOLE = 1e-6
_LOADS = 800
LOWEST_LOAD, HIGHEST_LOAD = 50.0, 50e3
"""Plate loads between which a tap is tried [ohm]."""


@dataclass(frozen=True)
class TapSearch:
    """What p places of the tap give in n networks; arrays of shape ``(p, n)`` unless said otherwise.

    Attributes
    ----------
    turns : ndarray
        Rising, shape ``(p,)``.
    inductance : ndarray
        [H].
    tuned : ndarray of bool
        Whether both capacitors match within their ranges.
    loaded_q : ndarray
        Of that match; where it is out of range, of the one that is wanted. NaN without any.
    tune_needed, load_needed : ndarray
        Settings of the same match [F].
    at_points : mapping of str to ndarray of bool
        By operating point, like `tuned`; true where it does not serve the band.
    """

    turns: FloatArray
    inductance: FloatArray
    tuned: BoolArray
    loaded_q: FloatArray
    tune_needed: FloatArray
    load_needed: FloatArray
    at_points: Mapping[str, BoolArray] = field(default_factory=dict)

    @property
    def serves(self) -> BoolArray:
        """Whether both capacitors match at the stage as it stands and at every operating point."""
        return np.asarray(np.all([self.tuned, *self.at_points.values()], axis=0))

    def nearest(self, turns: float) -> int:
        """Index of the place nearest to so many turns."""
        return int(np.argmin(np.abs(self.turns - turns)))


def places(winding: Winding, step: float, present: FloatArray) -> FloatArray:
    """List the places that a tap can have.

    Parameters
    ----------
    winding : Winding
    step : float
        Finest move worth naming [turns].
    present : ndarray
        Present taps, kept as they are.

    Returns
    -------
    ndarray
        Rising: multiples of the step, on a toroid whole turns of its own, or none where shorted turns would take
        its inductance away, the far end, and the present ones.
    """
    count = int(np.floor(winding.turns / step * (1 + 1e-12)))
    grid = np.arange(1, count + 1) * step
    for start, toroid in winding.toroids:
        grid = grid[(grid <= start) | (grid >= start + toroid.turns)]
        within = np.array([]) if winding.has_loops else np.arange(1, round(toroid.turns))
        ends = [place for place in (start, start + toroid.turns) if place > 0.0]
        grid = np.concatenate([grid, ends, start + within])
    every = np.sort(np.concatenate([grid, [winding.turns], present]))
    apart = np.diff(every, prepend=-1.0) > _WHOLE
    return np.asarray(every[apart])


def search(assembly: Assembly, wound: WoundCoil, step: float) -> TapSearch:
    """Try every place of the tap of the tank coil in every network.

    Parameters
    ----------
    assembly : Assembly
        Of n networks.
    wound : WoundCoil
        Its tank coil.
    step : float
        Finest move worth naming [turns].
    """
    parts, n = assembly.parts, len(assembly.parts)
    turns = places(wound.winding, step, wound.tapped.turns)
    p = turns.size
    coil = wound.at(np.repeat(turns, n), np.tile(parts.frequency, p))
    tried = replace(
        parts.take(np.tile(np.arange(n), p)),
        coil=coil.inductance,
        coil_q=coil.q,
        coil_capacitance=coil.self_capacitance,
    )
    found = match(tried)
    within = found.within(tried)
    second = ~within[0] & within[1]
    tune, load = (np.where(second, wanted[1], wanted[0]) for wanted in (found.tune, found.load))
    shape = (p, n)
    return TapSearch(
        turns,
        coil.inductance.reshape(shape),
        within.any(axis=0).reshape(shape),
        loaded_q(tried, tune).reshape(shape),
        tune.reshape(shape),
        load.reshape(shape),
    )


def plate_load_range(parts: Parts) -> tuple[float, float] | None:
    """Find the plate loads that all of some networks can be tuned to with their coils as they are.

    Parameters
    ----------
    parts : Parts
        Of the frequencies of one band.

    Returns
    -------
    tuple of float or None
        Lowest and highest of the unbroken stretch nearest to the present plate load [ohm]; None without one.

    Notes
    -----
    A geometric scan in steps of 0.9 %, its edges narrowed by halving.
    """
    loads = np.geomspace(LOWEST_LOAD, HIGHEST_LOAD, _LOADS)
    good = _serves(parts, loads)
    if not good.any():
        return None
    present = float(np.broadcast_to(parts.plate_load, (len(parts),))[0])
    nearest = int(np.argmin(np.where(good, np.abs(np.log(loads / present)), np.inf)))
    bad = np.flatnonzero(~good)
    below, above = bad[bad < nearest], bad[bad > nearest]
    low = _edge(parts, loads[below[-1] + 1], loads[below[-1]]) if below.size else LOWEST_LOAD
    high = _edge(parts, loads[above[0] - 1], loads[above[0]]) if above.size else HIGHEST_LOAD
    return low, high


def _edge(parts: Parts, good: float, bad: float) -> float:
    ends = np.array([good]), np.array([bad])
    return float(edge_between(*ends, lambda loads: _serves(parts, loads))[0])


def _serves(parts: Parts, loads: FloatArray) -> npt.NDArray[np.bool_]:
    """Tell which plate loads [ohm] all the networks can be tuned to, shape of `loads`."""
    n = len(parts)
    tried = parts.take(np.tile(np.arange(n), loads.size))
    tried = replace(tried, plate_load=np.repeat(loads, n))
    return np.asarray(match(tried).within(tried).any(axis=0).reshape(loads.size, n).all(axis=1))
