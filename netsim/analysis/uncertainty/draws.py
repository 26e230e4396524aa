"""Amplifiers drawn from within the limits of what is known of one.

The places usually drawn are kept beside this module as ``places.npy``, because importing scipy.stats takes longer
than solving them; ``python -m netsim.analysis.uncertainty.draws`` works them out again.
"""

from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

import numpy as np

from netsim.circuit.assembly import Variants
from netsim.circuit.elements import FloatArray
from netsim.description.inputs import Input

SAMPLES = 4096
"""Amplifiers drawn unless another number is asked for."""

SEED = 20260101
"""Of the scrambling, so that every run draws the same amplifiers."""

KEPT = "places.npy"
_COLUMNS = 24
"""Quantities that the kept places serve; for more they are drawn anew."""

_STEPS = 2**16

_PLACES = 64
"""Of a tap with limits: so many positions of it are solved, however many amplifiers are drawn."""


def drawn(inputs: Sequence[Input], samples: int, seed: int = SEED) -> FloatArray:
    """Return evenly drawn places between the limits.

    Parameters
    ----------
    inputs : sequence of Input
        Of d quantities, independent of each other.
    samples : int
        How many amplifiers; a power of 2 keeps the sequence balanced.
    seed : int
        Of the scrambling.

    Returns
    -------
    ndarray
        Above 0 and below 1, shape ``(samples, d)``: 0 is the low limit and 1 the high one.

    Notes
    -----
    Sobol's sequence with Owen's scrambling (``scipy.stats.qmc``): of every power of 2 of amplifiers each
    quantity falls once into every equal share of its limits.
    """
    if not inputs:
        return np.empty((samples, 0))
    if samples <= SAMPLES and len(inputs) <= _COLUMNS and seed == SEED:
        with (files("netsim.analysis.uncertainty") / KEPT).open("rb") as stream:
            places = (np.load(stream)[:samples, : len(inputs)] + 0.5) / _STEPS
    else:
        places = sequence(len(inputs), samples, seed)
    for column, entry in enumerate(inputs):
        if str(entry.path[-1]).endswith("turns"):
            places[:, column] = (np.floor(places[:, column] * _PLACES) + 0.5) / _PLACES
    return np.asarray(np.clip(places, 1e-12, 1 - 1e-12))


def sequence(quantities: int, samples: int, seed: int = SEED) -> FloatArray:
    """Return places of Sobol's scrambled sequence, shape ``(samples, quantities)``, by scipy."""
    from scipy.stats import qmc

    power = int(np.ceil(np.log2(max(samples, 1))))
    return np.asarray(
        qmc.Sobol(max(quantities, _COLUMNS), rng=seed).random_base2(power)[:samples, :quantities]
    )


def kept_places() -> np.ndarray:
    """Return what is to be kept: the usual places as whole numbers of a 65536th."""
    return (sequence(_COLUMNS, SAMPLES) * _STEPS).astype(np.uint16)


def values_at(inputs: Sequence[Input], places: FloatArray) -> FloatArray:
    """Return quantities at places between their limits: 0 the low one, 1 the high one.

    Parameters
    ----------
    inputs : sequence of Input
        Of d quantities.
    places : ndarray
        Shape ``(..., d)``.

    Returns
    -------
    ndarray
        SI, the same shape: even in the quantity (rectangular; JCGM 100:2008, 4.3.7), or in its logarithm where
        the limits are `logarithmic`.
    """
    found = np.empty(places.shape)
    for column, entry in enumerate(inputs):
        at = places[..., column]
        if entry.logarithmic:
            found[..., column] = entry.low * (entry.high / entry.low) ** at
        else:
            found[..., column] = entry.low + (entry.high - entry.low) * at
    return found


def places_of(inputs: Sequence[Input], values: FloatArray) -> FloatArray:
    """Return the places between their limits of quantities of shape ``(..., d)``; the inverse of `values_at`."""
    found = np.empty(values.shape)
    for column, entry in enumerate(inputs):
        low, high, value = entry.low, entry.high, values[..., column]
        if entry.logarithmic:
            low, high, value = np.log(low), np.log(high), np.log(value)
        found[..., column] = (value - low) / (high - low)
    return found


def variants(inputs: Sequence[Input], values: FloatArray) -> Variants:
    """Return the drawn amplifiers as copies for the assembly; values of shape ``(samples, d)``."""
    return Variants(len(values), {entry.path: values[:, n] for n, entry in enumerate(inputs)})


if __name__ == "__main__":
    np.save(Path(__file__).with_name(KEPT), kept_places())
