"""Which input a result owes its spread to: first-order shares of its variance."""

import numpy as np
from scipy.special import eval_legendre

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
    ``E(Y | X_i)`` is expanded in Legendre polynomials of the input, orthogonal on even draws, whose coefficients
    are means over the samples: one sample serves all inputs and results (I. M. Sobol's first-order indices;
    the expansion as in polynomial chaos). What chance alone adds, the residual variance over the samples for each
    coefficient, is taken off.
    """
    samples, inputs = places.shape
    centred = values - values.mean(axis=1, keepdims=True)
    variance = (centred**2).mean(axis=1)
    degree = np.arange(1, DEGREE + 1)
    basis = (
        eval_legendre(degree[:, np.newaxis, np.newaxis], 2 * places.T - 1)
        * np.sqrt(2 * degree + 1)[:, None, None]
    )
    coefficients = centred @ basis.reshape(DEGREE * inputs, samples).T / samples
    squares = (coefficients**2).reshape(-1, DEGREE, inputs).sum(axis=1)
    tiny = np.finfo(float).eps ** 2 * (values**2).mean(axis=1)
    varies = variance > tiny * samples
    share = np.divide(squares, variance[:, None], out=np.zeros_like(squares), where=varies[:, None])
    left = np.clip(1 - share.sum(axis=1, keepdims=True), 0, 1)
    return np.asarray(np.clip(share - left * DEGREE / samples, 0, 1))
