"""Which input a result owes its spread to: first-order shares of its variance."""

import numpy as np
from numpy.polynomial.legendre import legvander

from netsim.circuit.elements import FloatArray

DEGREE = 10
"""Of the polynomials in each input; a kink or a full period within its limits is still followed to a percent."""


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
    most = max(1, min(DEGREE, samples // (8 * max(1, inputs))))
    weight = np.sqrt(2 * np.arange(1, most + 1) + 1)
    basis = legvander(2 * places.T - 1, most)[..., 1:] * weight
    basis = np.moveaxis(basis, -1, 0).reshape(most * inputs, samples)
    basis -= basis.mean(axis=1, keepdims=True)
    coefficients = np.linalg.lstsq(basis @ basis.T, basis @ centred.T, rcond=1e-9)[0].T
    squares = (coefficients**2).reshape(-1, most, inputs).sum(axis=1)
    tiny = np.finfo(float).eps ** 2 * (values**2).mean(axis=1)
    varies = variance > tiny * samples
    share = np.divide(squares, variance[:, None], out=np.zeros_like(squares), where=varies[:, None])
    left = np.clip(1 - share.sum(axis=1, keepdims=True), 0, 1)
    return np.asarray(np.clip(share - left * most / max(1, samples - most * inputs), 0, 1))
