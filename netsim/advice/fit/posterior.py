"""What is known after readings: amplifiers drawn from within the limits, as often as the readings let expect."""

from typing import NamedTuple

import numpy as np
from scipy.special import ndtr, ndtri

from netsim.advice.fit.least_squares import PRIOR_DEVIATION, LeastSquares, Linear
from netsim.circuit.elements import FloatArray

DRAWS = 2048
_SWEEPS = 30
_SEED = 20260202
_LEAST_SHARE = 0.02
"""Of draws that must count after they are weighed with the readings themselves."""


class Posterior(NamedTuple):
    """Amplifiers drawn after the readings: places between the limits, shape ``(draws, d)``.

    ``share`` of the draws counted when they were weighed with the readings themselves; a small one says that the
    straight lines about the best fit are a poor guide.
    """

    places: FloatArray
    share: float


def posterior(problem: LeastSquares, about: Linear, draws: int = DRAWS) -> Posterior:
    """Draw amplifiers that readings, linear about their best fit, and limits admit.

    They lie evenly within the limits before the readings, as the limits say; the readings count with normal errors.

    Notes
    -----
    First with the readings as straight lines about the best fit, which is a normal distribution cut off at the
    limits: chains of Gibbs sampling along its principal axes and along the unknowns in turn, one draw from each
    chain. Then every draw is weighed with what the readings would be in it (importance sampling), and draws are
    taken anew by weight.
    """
    generator = np.random.default_rng(_SEED)
    places = _within_limits(about, draws, generator)
    straight = about.residuals + (places - about.places) @ about.slopes.T
    exact = problem.residuals(places)
    weight = -0.5 * ((exact**2).sum(axis=1) - (straight**2).sum(axis=1))
    weight = np.exp(weight - weight.max())

    def counted(power: float) -> float:
        tempered = weight**power
        return float(tempered.sum() ** 2 / (tempered**2).sum() / draws)

    power = 1.0
    while counted(power) < _LEAST_SHARE:  # too few to stand for all: tempered until enough count
        power /= 2
    share, weight = counted(power), weight**power
    taken = np.cumsum(weight) / weight.sum()
    chosen = np.searchsorted(taken, (np.arange(draws) + generator.random()) / draws)
    return Posterior(places[np.minimum(chosen, draws - 1)], share)


def _within_limits(about: Linear, draws: int, generator: np.random.Generator) -> FloatArray:
    """Draw from the straight lines' normal distribution, cut off at the limits."""
    count = len(about.places)
    precision = about.slopes.T @ about.slopes + np.eye(count) / PRIOR_DEVIATION**2
    axes = np.concatenate([np.linalg.eigh(precision)[1].T, np.eye(count)])
    lines = axes @ about.slopes.T
    curvature = (lines**2).sum(axis=1)
    places = np.tile(np.clip(about.places, 1e-9, 1 - 1e-9), (draws, 1))
    off = np.tile(about.residuals, (draws, 1))
    for _ in range(_SWEEPS):
        for axis, line, bend in zip(axes, lines, curvature, strict=True):
            moving = np.abs(axis) > 1e-12
            to_ends = np.stack([(end - places[:, moving]) / axis[moving] for end in (0.0, 1.0)])
            low, high = to_ends.min(axis=0).max(axis=1), to_ends.max(axis=0).min(axis=1)
            chance = generator.random(draws)
            if bend < 1e-9:
                step = low + chance * (high - low)
            else:
                step = _cut_off_normal(-(off @ line) / bend, bend**-0.5, low, high, chance)
            places = np.clip(places + step[:, np.newaxis] * axis, 0.0, 1.0)
            off = off + step[:, np.newaxis] * line
    return places


def _cut_off_normal(
    mean: FloatArray, deviation: float, low: FloatArray, high: FloatArray, chance: FloatArray
) -> FloatArray:
    """Turn even chances into a normal distribution between limits."""
    begin, end = (low - mean) / deviation, (high - mean) / deviation
    flip = begin > 0  # the tail that keeps its digits
    begin, end = np.where(flip, -end, begin), np.where(flip, -begin, end)
    below, above = ndtr(begin), ndtr(end)
    found = ndtri(below + chance * (above - below))
    # Where both ends lie so far out that nothing is left between them, the nearer end.
    found = np.where(np.isfinite(found), np.clip(found, begin, end), end)
    return np.asarray(mean + deviation * np.where(flip, -found, found))
