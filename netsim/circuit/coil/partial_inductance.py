"""Inductances between stretches of a winding: what is active, and what is shorted.

Everything follows from one function C(x, y): the mutual inductance of the stretch [0, x] with the stretch
[0, y], overlap included. The mutual inductance of any two stretches is a second difference of it, a
self-inductance likewise, so cutting a coil anywhere and adding it up again is exact, round-wire corrections
included.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.coil.mutual_inductance import coaxial_circles, coaxial_sheet_potential
from netsim.circuit.coil.solenoid import solenoid_inductance
from netsim.circuit.coil.winding import PlacedRun, Section, Solenoid, Toroid, Winding, place_runs

Floats = NDArray[np.float64]


def _within(run: Section, first: Floats, second: Floats) -> Floats:
    """C(x, y) inside one run: half of L(x) + L(y) - L(|x - y|)."""
    if isinstance(run, Toroid):
        return np.asarray(run.inductance_per_turn_squared * first * second)

    def own(turns: Floats) -> Floats:
        return solenoid_inductance(turns, run.mean_diameter, run.pitch, run.conductor_diameter)

    return np.asarray(0.5 * (own(first) + own(second) - own(np.abs(first - second))))


def _turn_corrections(one: Solenoid, two: Solenoid, gap: float) -> tuple[Floats, Floats, Floats]:
    """Compare strips with filaments for every turn of one run with every turn of the next.

    Returns the turn edges of both [turns] and the correction [H] of each pair, to be taken off the mutual
    inductance of the sheets so that whole turns couple as circles in the middle of their pitch (Maxwell):
    what Rosa's B does inside a run. The last turn of a run may be a fraction.
    """

    def edges(run: Solenoid) -> Floats:
        return np.append(np.arange(np.ceil(run.turns - 1e-9)), run.turns)

    radii = 0.5 * one.mean_diameter, 0.5 * two.mean_diameter
    first, second = edges(one), edges(two)
    # Distances from an edge of the first run to an edge of the second, then from middle to middle.
    apart = gap + second * two.pitch + (one.turns - first[:, None]) * one.pitch
    middle = 0.25 * (apart[1:, 1:] + apart[1:, :-1] + apart[:-1, 1:] + apart[:-1, :-1])
    potential = coaxial_sheet_potential(*radii, apart) / (one.pitch * two.pitch)
    strips = -np.diff(np.diff(potential, axis=0), axis=1)
    return first, second, strips - np.outer(np.diff(first), np.diff(second)) * coaxial_circles(*radii, middle)


def _between(one: PlacedRun, two: PlacedRun, first: Floats, second: Floats) -> Floats:
    """C(x, y) between two runs, every x (u,) with every y (v,): shape (u, v). Coaxial or uncoupled."""
    if one.axis != two.axis or isinstance(one.run, Toroid) or isinstance(two.run, Toroid):
        return np.zeros((first.size, second.size))
    if two.place < one.place:
        return _between(two, one, second, first).T
    radii = 0.5 * one.run.mean_diameter, 0.5 * two.run.mean_diameter
    here, there = one.place + first[:, None] * one.run.pitch, two.place + second * two.run.pitch
    potential = (
        coaxial_sheet_potential(*radii, two.place - here)
        + coaxial_sheet_potential(*radii, there - one.place)
        - coaxial_sheet_potential(*radii, there - here)
        - coaxial_sheet_potential(*radii, two.place - one.place)
    )
    gap = two.place - one.place - one.run.turns * one.run.pitch
    *turn_edges, corrections = _turn_corrections(one.run, two.run, max(gap, 0.0))
    covered = [
        np.clip((turns[:, None] - edges[:-1]) / np.diff(edges), 0.0, 1.0)
        for turns, edges in zip((first, second), turn_edges, strict=True)
    ]
    return np.asarray(potential / (one.run.pitch * two.run.pitch) - covered[0] @ corrections @ covered[1].T)


def cumulative_inductance(
    winding: Winding, turns: ArrayLike, edges: Sequence[float]
) -> tuple[Floats, Floats]:
    """Give C(x, x) and C(x, e): mutual inductances of stretches that begin at the plate end.

    Parameters
    ----------
    winding : Winding
    turns : array_like, shape (p,)
        Places x on the winding, 0 to `Winding.turns`.
    edges : sequence of float, length e
        Fixed places.

    Returns
    -------
    ndarray, shape (p,)
        C(x, x) [H], the self-inductance of [0, x].
    ndarray, shape (p, e)
        C(x, e) [H].

    Notes
    -----
    Inside a run: Nagaoka and Rosa. Between runs: current sheets in closed form, corrected so that whole
    turns couple as Maxwell's circles. Against wire circles added up turn by turn, the first is within 0.5 %
    for pitches up to a third of the radius, the second the same. Leads are not included.
    """
    turns = np.asarray(turns, dtype=float)
    fixed = np.asarray(edges, dtype=float)
    placed = place_runs(winding)
    itself = np.zeros(turns.shape)
    against = np.zeros((turns.size, fixed.size))
    for one in placed:
        local, where = np.unique(one.local(turns), return_inverse=True)
        for two in placed:
            # Most edges lie outside this run and are the same place in it; each is worked out once.
            place, column = np.unique(two.local(fixed), return_inverse=True)
            if one is two:
                grid = _within(one.run, local[:, None], place)
                itself += _within(one.run, local, local)[where]
            else:
                grid = _between(one, two, local, place)
            against += grid[np.ix_(where, column)]
    for index, one in enumerate(placed):
        for two in placed[index + 1 :]:
            # Only a place inside or beyond the later run couples, and then the earlier one is whole.
            local, where = np.unique(two.local(turns), return_inverse=True)
            itself += 2.0 * _between(one, two, np.array([one.run.turns]), local)[0, where]
    return itself, against


def inductance_matrix(winding: Winding, turns: ArrayLike) -> Floats:
    """Give the inductances of the active stretch and the shorted loops, each with each.

    Parameters
    ----------
    winding : Winding
    turns : array_like, shape (p,)
        Tap positions in turns from the plate end.

    Returns
    -------
    ndarray, shape (p, 1 + k, 1 + k)
        [H], symmetric. Index 0 is the active stretch with the leads, 1 + j the loop between edges j and
        j + 1 of `Winding.loop_edges`, less what is active; rows of loops that are wholly active are 0.

    Raises
    ------
    DescriptionError
        A position is off the winding, or a fraction of a turn on a toroid.
    """
    turns = winding.snapped(turns)
    edges = np.asarray(winding.loop_edges, dtype=float)
    itself, against = cumulative_inductance(winding, turns, winding.loop_edges)
    _, fixed = cumulative_inductance(winding, edges, winding.loop_edges)
    # Marks: the plate end (where C is 0), the tap, then every edge pushed back to the tap where it is active.
    count = edges.size
    active = edges <= turns[:, None]
    marks = np.zeros((turns.size, count + 1, count + 1))
    marks[:, 0, 0] = itself
    marks[:, 0, 1:] = marks[:, 1:, 0] = np.where(active, itself[:, None], against)
    both, either = active[:, :, None] & active[:, None, :], active[:, :, None] | active[:, None, :]
    mixed = np.where(active[:, :, None], against[:, None, :], against[:, :, None])
    marks[:, 1:, 1:] = np.where(both, itself[:, None, None], np.where(either, mixed, fixed))
    # Differences along both axes turn stretches from the plate end into stretches between marks; edge 0 is
    # the plate end, so its mark coincides with the tap and is dropped.
    kept = np.delete(np.arange(count + 1), slice(1, 2))
    stretches = marks[:, kept][:, :, kept]
    for axis in (1, 2):
        stretches = np.diff(stretches, axis=axis, prepend=0.0)
    stretches[:, 0, 0] += winding.lead_inductance
    return stretches
