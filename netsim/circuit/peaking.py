"""Where an operator ends who turns both capacitors for most output, within their ranges."""

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import Sections, cut_open
from netsim.circuit.tuning import BoolArray, Match, match, real_roots

PREFERENCE = 0.05
"""Share of output an operator gives up unnoticed; then the setting with more load capacitance is taken."""

_GRID = 400
_GOLDEN = (np.sqrt(5) - 1) / 2


def settings(
    parts: Parts, found: Match | None = None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Decide where both capacitors stand, and where they would have to.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    found : Match, optional
        ``match(parts)`` if the caller already has it.

    Returns
    -------
    tune, load : ndarray
        Settings reached [F], shape ``(networks,)``, always within the parts' ranges.
    tune_needed, load_needed : ndarray
        Settings of the chosen match [F]; NaN where none exists.

    Notes
    -----
    A match within range is taken, of two the one with more load capacitance. Otherwise the candidate
    with more load capacitance tells which part is stuck; that part stays at its stop and the other is
    peaked. With no candidate at all the peak is sought over the four edges and the interior.
    """
    sections = cut_open(parts)
    found = found or match(parts, sections)
    within, exists = found.within(parts), found.exists
    second = ~within[0] & within[1]
    tune_needed = np.where(second, found.tune[1], found.tune[0])
    load_needed = np.where(second, found.load[1], found.load[0])
    tune, load = tune_needed.copy(), load_needed.copy()
    stuck: BoolArray = np.asarray(~within.any(axis=0))
    if stuck.any():
        some = parts.take(stuck)
        tune[stuck], load[stuck] = _peak(some, tune_needed[stuck], load_needed[stuck], exists[0][stuck])
    return tune, load, tune_needed, load_needed


def _peak(
    parts: Parts, tune_needed: FloatArray, load_needed: FloatArray, exists: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Peak the output over those edges that the stuck parts leave, or over everything."""
    search = _Search(parts)
    n = len(parts)
    edges = [
        (search.at_tune(parts.tune_minimum), tune_needed < parts.tune_minimum),
        (search.at_tune(parts.tune_maximum), tune_needed > parts.tune_maximum),
        (search.at_load(parts.load_minimum), load_needed < parts.load_minimum),
        (search.at_load(parts.load_maximum), load_needed > parts.load_maximum),
    ]
    tunes = [place[0] for place, _ in edges]
    loads = [place[1] for place, _ in edges]
    eligible = [np.where(exists, beyond, True) for _, beyond in edges]
    if not exists.all():
        tune, load = search.interior()
        tunes.append(tune)
        loads.append(load)
        eligible.append(~exists)
    tune, load = (np.stack([np.broadcast_to(v, (n,)) for v in values]) for values in (tunes, loads))
    cost = np.where(np.stack(eligible), search.cost(tune, load), np.inf)
    near = cost <= cost.min(axis=0) / (1 - PREFERENCE)
    most_load = near & (load == np.where(near, load, -np.inf).max(axis=0))
    chosen = np.argmin(np.where(most_load, cost, np.inf), axis=0)[np.newaxis]
    return np.take_along_axis(tune, chosen, 0)[0], np.take_along_axis(load, chosen, 0)[0]


class _Search:
    """Output as a function of the settings, and its peaks along a line.

    The cost is ``max(|I_P|^2, |V_P|^2 / R_L^2)`` for 1 V at the coil's output: the output is the inverse
    of it, whether current or plate swing is the limit. Along either setting alone both terms are
    parabolas that open upwards, so the peak of the output is single and closed-form.
    """

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        sections: Sections = cut_open(parts)
        self.current, self.voltage = sections.plate_current, sections.plate_voltage

    def cost(self, tune: FloatArray, load: FloatArray) -> FloatArray:
        """Inverse of the output, in arbitrary units; settings of shape ``(..., networks)``."""
        swing = self.voltage.at(tune, load) / self.parts.plate_load
        return np.asarray(np.maximum(np.abs(self.current.at(tune, load)) ** 2, np.abs(swing) ** 2))

    def at_tune(self, tune: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Peak with the load capacitor, tune capacitor held."""
        low, high = self.parts.load_minimum, self.parts.load_maximum
        load = self._line(self.current.along_load(tune), self.voltage.along_load(tune), low, high)
        return np.broadcast_to(tune, load.shape), load

    def at_load(self, load: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Peak with the tune capacitor, load capacitor held."""
        low, high = self.parts.tune_minimum, self.parts.tune_maximum
        tune = self._line(self.current.along_tune(load), self.voltage.along_tune(load), low, high)
        return tune, np.broadcast_to(load, tune.shape)

    def _line(
        self,
        current: tuple[ComplexArray, ComplexArray],
        voltage: tuple[ComplexArray, ComplexArray],
        low: FloatArray,
        high: FloatArray,
    ) -> FloatArray:
        offset = np.stack([current[0], voltage[0] / self.parts.plate_load])
        slope = np.stack([current[1], voltage[1] / self.parts.plate_load])
        squared, linear, constant = (
            np.abs(slope) ** 2,
            2 * np.real(offset * np.conj(slope)),
            np.abs(offset) ** 2,
        )
        with np.errstate(divide="ignore", invalid="ignore"):
            # A swing that this setting does not change has no bottom: without parts in the plate lead
            # the plate voltage is the tank's, wherever the tune capacitor stands.
            bottoms = np.where(squared > 0, -linear / (2 * squared), np.nan)
        crossings = real_roots(squared[0] - squared[1], linear[0] - linear[1], constant[0] - constant[1])
        places = np.concatenate([bottoms, np.where(np.isnan(crossings), bottoms, crossings)])
        places = np.clip(places, low, high)
        cost = np.max(np.abs(offset[:, np.newaxis] + slope[:, np.newaxis] * places) ** 2, axis=0)
        cost = np.where(np.isnan(places), np.inf, cost)
        return np.asarray(np.take_along_axis(places, np.argmin(cost, axis=0)[np.newaxis], axis=0)[0])

    def interior(self) -> tuple[FloatArray, FloatArray]:
        """Best of all settings: the load capacitor scanned and refined, tune peaked at each.

        The scan is a geometric grid; the bracket around its best point is narrowed by golden section,
        all networks together.
        """
        share = np.linspace(0, 1, _GRID)[:, np.newaxis]
        low, high = np.log(self.parts.load_minimum), np.log(self.parts.load_maximum)
        grid = low + (high - low) * share
        best = np.argmin(self._profile(grid), axis=0)
        columns = np.arange(grid.shape[1])
        left = grid[np.maximum(best - 1, 0), columns]
        right = grid[np.minimum(best + 1, _GRID - 1), columns]
        for _ in range(60):
            first, second = right - _GOLDEN * (right - left), left + _GOLDEN * (right - left)
            lower = self._profile(first) < self._profile(second)
            left, right = np.where(lower, left, first), np.where(lower, second, right)
        return self.at_load(np.exp((left + right) / 2))

    def _profile(self, log_load: FloatArray) -> FloatArray:
        """Cost at the best tune setting for each load setting."""
        tune, load = self.at_load(np.exp(log_load))
        return self.cost(tune, load)
