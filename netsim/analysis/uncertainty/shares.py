"""Which input a result owes its spread to: first-order shares of its variance."""

import numpy as np
from numpy.polynomial.legendre import legvander

from netsim.circuit.elements import FloatArray

DEGREE = 10
"""Of the polynomials in each input; a kink or a full period within its limits is still followed to a percent."""


MOST_COEFFICIENTS = 600
"""Of all inputs together, which bounds the time; with more than 60 inputs the polynomials are of lower degree."""

_NUMBERS = 2_000_000
"""Of the polynomials at a time: 16 MB."""


def first_order_shares(places: FloatArray, values: FloatArray) -> FloatArray:
    """Compute the share of each result's variance that knowing one input would remove.

    Parameters
    ----------
    places : ndarray
        Of a Sobol sequence or other even draws within (0, 1), shape ``(samples, d)``.
    values : ndarray
        Finite, shape ``(results, samples)``.

    Returns
    -------
    ndarray
        ``V(E(Y | X_i)) / V(Y)``, 0 to 1, shape ``(results, d)``; 0 where a result does not vary.

    Notes
    -----
    All ``E(Y | X_i)`` are expanded in Legendre polynomials of their inputs, orthogonal on even draws, and fitted
    together by least squares: one sample serves all inputs and results (I. M. Sobol's first-order indices; the
    expansion as in polynomial chaos). What chance alone adds, the residual variance over the degrees of freedom left
    for each coefficient, is taken off.
    """
    samples, inputs = places.shape
    centred = values - values.mean(axis=1, keepdims=True)
    variance = (centred**2).mean(axis=1)
    few = min(samples // (8 * max(1, inputs)), MOST_COEFFICIENTS // max(1, inputs))
    most = max(1, min(DEGREE, few))
    weight = np.sqrt(2 * np.arange(1, most + 1) + 1)
    size = most * inputs
    gram, cross, total = np.zeros((size, size)), np.zeros((size, len(values))), np.zeros(size)
    step = max(1, _NUMBERS // max(1, size))
    for start in range(0, samples, step):
        some = slice(start, start + step)
        basis = legvander(2 * places[some].T - 1, most)[..., 1:] * weight
        basis = np.moveaxis(basis, -1, 0).reshape(size, -1)
        gram += basis @ basis.T
        cross += basis @ centred[:, some].T
        total += basis.sum(axis=1)
    gram -= np.outer(total, total) / samples  # about the means; the values' own are off already
    coefficients = np.linalg.lstsq(gram, cross, rcond=1e-9)[0].T
    squares = (coefficients**2).reshape(-1, most, inputs).sum(axis=1)
    tiny = np.finfo(float).eps ** 2 * (values**2).mean(axis=1)
    varies = variance > tiny * samples
    share = np.divide(squares, variance[:, None], out=np.zeros_like(squares), where=varies[:, None])
    left = np.clip(1 - share.sum(axis=1, keepdims=True), 0, 1)
    return np.asarray(np.clip(share - left * most / max(1, samples - most * inputs), 0, 1))
