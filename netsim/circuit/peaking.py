"""Where an operator ends who turns both capacitors for most output, within their ranges."""

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import Bilinear, cut_open
from netsim.circuit.tuning import BoolArray, Match, match, real_roots

PREFERENCE = 0.05
"""Share of output an operator gives up unnoticed; then the peak with more load capacitance is taken."""

FINE = (32, 26)
"""Load settings of the grid, and steps by which a peak is narrowed: its setting is true to a millionth."""

COARSE = (12, 10)
"""The same for samples: true to half a per cent, where the output is flat."""

_GOLDEN = (np.sqrt(5) - 1) / 2
_MOST = 16384
"""Networks times settings of the grid that are tried at a time, which keeps a search below some 60 MB."""


def settings(
    parts: Parts,
    found: Match | None = None,
    wanted: BoolArray | None = None,
    search: tuple[int, int] = FINE,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Decide where both capacitors stand, and where they would have to.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    found : Match, optional
        ``match(parts)`` if the caller already has it.
    wanted : ndarray of bool, optional
        Where settings are wanted at all; elsewhere no output is peaked, which takes long.
    search : (int, int)
        `FINE` or `COARSE`: how well peaks are found.

    Returns
    -------
    tune, load : ndarray
        Settings reached [F], shape ``(networks,)``, always within the parts' ranges.
    tune_needed, load_needed : ndarray
        Settings of the chosen match [F]; NaN where none exists.

    Notes
    -----
    A match within range is taken, of two the one with more load capacitance. Otherwise the output is peaked
    over the whole of both ranges, whatever keeps the match away; see `peak`.
    """
    found = found or match(parts)
    within = found.within(parts)
    second = ~within[0] & within[1]
    tune_needed = np.where(second, found.tune[1], found.tune[0])
    load_needed = np.where(second, found.load[1], found.load[0])
    tune, load = tune_needed.copy(), load_needed.copy()
    stuck = np.flatnonzero(~within.any(axis=0) & (True if wanted is None else wanted))
    step = _MOST // search[0]
    for start in range(0, len(stuck), step):
        some = stuck[start : start + step]
        tune[some], load[some] = peak(parts.take(some), search)
    return tune, load, tune_needed, load_needed


def peak(parts: Parts, search: tuple[int, int] = FINE) -> tuple[FloatArray, FloatArray]:
    """Find the settings of most output within the parts' ranges, under the voltage limit.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks, a bounded number of them.
    search : (int, int)
        `FINE` or `COARSE`.

    Returns
    -------
    tune, load : ndarray
        [F], shape ``(networks,)``. Of peaks within 5 % of the highest the one with most load capacitance.

    Notes
    -----
    At a given load setting the best tune setting is closed-form, its stops included; that leaves the output as
    a function of the load setting alone. Its peaks are those of a grid, geometric over the range and denser
    about the settings at which its closed form turns, and are narrowed by golden section.
    """
    points, steps = search
    every = _Search(parts)
    grid = every.grid(points)
    cost = every.profile(grid)
    padded = np.pad(cost, ((1, 1), (0, 0)), constant_values=np.inf)
    place, network = np.nonzero((cost <= padded[:-2]) & (cost < padded[2:]))
    # From here on one row for every peak, of which a network has one or few.
    each = _Search(parts.take(network))
    left, right = (grid[np.clip(place + step, 0, len(grid) - 1), network] for step in (-1, 1))
    load = each.narrowed(left, right, steps)
    cost = each.profile(load)
    # A peak at the end of the range is at the end, not next to it.
    for end in (left, right):
        at_end = each.profile(end)
        load, cost = np.where(at_end <= cost, end, load), np.minimum(at_end, cost)
    least, most = np.full(len(parts), np.inf), np.full(len(parts), -np.inf)
    np.minimum.at(least, network, cost)
    near = cost <= least[network] / (1 - PREFERENCE)
    np.maximum.at(most, network[near], load[near])
    return every.best_tune(most), most


class _Search:
    """Output as a function of the settings, and its peaks along a line.

    The cost is ``max(|I_P|^2, |V_P|^2 / R_L^2) / |I_A|^2``: the output is the inverse of it, whether plate current
    or plate swing is the limit. Along either setting alone these are quotients of parabolas, whose turning
    points and crossings are roots of quadratics.
    """

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        found = cut_open(parts)
        forms = (found.plate_current, found.plate_voltage, found.antenna_current)
        coefficients = np.stack([form.coefficients for form in forms], axis=2)
        coefficients[:, :, 1] /= parts.plate_load
        self.forms = Bilinear(coefficients)

    def cost(self, tune: FloatArray, load: FloatArray) -> FloatArray:
        """Give the inverse of the output, in arbitrary units; settings of shape ``(..., networks)``."""
        return _cost(self.forms.along_tune(load[..., np.newaxis, :]), tune)

    def profile(self, load: FloatArray) -> FloatArray:
        """Give the cost at the best tune setting for each load setting."""
        return self.cost(self.best_tune(load), load)

    def best_tune(self, load: FloatArray) -> FloatArray:
        """Peak with the tune capacitor, load capacitor held."""
        line = self.forms.along_tune(load[..., np.newaxis, :])
        return _best(line, self.parts.tune_minimum, self.parts.tune_maximum)

    def grid(self, points: int) -> FloatArray:
        """Load settings to try, in order, shape ``(points, networks)``."""
        low, high = self.parts.load_minimum, self.parts.load_maximum
        even = np.exp(np.log(low) + np.log(high / low) * np.linspace(0, 1, points)[:, np.newaxis])
        even[0], even[-1] = low, high
        stops = np.stack([self.parts.tune_minimum, self.parts.tune_maximum])
        peaks = _best(self.forms.along_load(stops[..., np.newaxis, :]), low, high)
        return np.sort(np.concatenate([even, peaks]), axis=0)

    def narrowed(self, left: FloatArray, right: FloatArray, steps: int) -> FloatArray:
        """Narrow brackets around peaks, all of them together."""
        width = right - left
        first, second = right - _GOLDEN * width, left + _GOLDEN * width
        costs = self.profile(first), self.profile(second)
        for _ in range(steps):
            lower = costs[0] < costs[1]
            left, right = np.where(lower, left, first), np.where(lower, second, right)
            width = right - left
            fresh = np.where(lower, right - _GOLDEN * width, left + _GOLDEN * width)
            tried = self.profile(fresh)
            costs = np.where(lower, tried, costs[1]), np.where(lower, costs[0], tried)
            first, second = np.where(lower, fresh, second), np.where(lower, first, fresh)
        return np.asarray(np.where(costs[0] < costs[1], first, second))


def _cost(line: ComplexArray, place: FloatArray) -> FloatArray:
    """Give the cost at places of shape ``(..., networks)`` on lines: offset and slope of the three forms."""
    current, swing, antenna = np.moveaxis(_squared(line[0] + line[1] * place[..., np.newaxis, :]), -2, 0)
    # A lead in series resonance with a capacitor without losses keeps all current from the antenna.
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.maximum(current, swing) / antenna)


def _squared(value: ComplexArray) -> FloatArray:
    return np.asarray(value.real**2 + value.imag**2)


def _best(line: ComplexArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Find the place of least cost on each line, between its ends.

    The dip comes first: where the swing is the limit and does not change along the line, the operator dips.
    """
    constants, linears, squares = (
        np.moveaxis(values, -2, 0)
        for values in (_squared(line[0]), 2 * np.real(line[0] * np.conj(line[1])), _squared(line[1]))
    )
    d0, d1, d2 = (values[2] for values in (constants, linears, squares))
    n0, n1, n2 = (values[:2] for values in (constants, linears, squares))
    turning = np.swapaxes(real_roots(n2 * d1 - n1 * d2, 2 * (n2 * d0 - n0 * d2), n1 * d0 - n0 * d1), 0, 1)
    crossing = real_roots(n2[0] - n2[1], n1[0] - n1[1], n0[0] - n0[1])
    ends = np.broadcast_to(
        np.stack([low, high])[(slice(None), *[np.newaxis] * (d0.ndim - 1))], crossing.shape
    )
    places = np.clip(np.concatenate([*turning, crossing, ends]), low, high)
    # Not by the parabolas: near a resonance without losses their terms cancel to nothing but rounding.
    cost = _cost(line[:, np.newaxis], places)
    chosen = np.argmin(np.where(np.isnan(cost), np.inf, cost), axis=0)[np.newaxis]
    return np.asarray(np.take_along_axis(places, chosen, axis=0)[0])
