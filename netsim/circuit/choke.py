"""Chokes and small coils by what is known of them: reactance, first series resonance, inductance."""

import numpy as np
from numpy.typing import ArrayLike

from netsim.circuit.elements import FloatArray

LIGHT = 299792458.0
"""[m/s], exact (SI)."""

RESONANCE_ABOVE = 1.5
"""How far above the estimate a first series resonance may lie, as a factor."""


def choke_reactance(inductance: ArrayLike, self_capacitance: ArrayLike, frequency: ArrayLike) -> FloatArray:
    """Compute the reactance of a choke with its self-capacitance across it [ohm].

    Parameters
    ----------
    inductance, self_capacitance, frequency : array_like
        [H], [F], [Hz], broadcastable; frequency above 0.

    Returns
    -------
    ndarray
        ``1 / (1/(w L) - w C)``: positive below the parallel resonance, where the choke is an inductance,
        negative above it, where it is a capacitance; infinite at it and for an ideal choke. Losses left out.
    """
    omega = 2 * np.pi * np.asarray(frequency, dtype=float)
    with np.errstate(divide="ignore"):
        return np.asarray(1 / (1 / (omega * np.asarray(inductance)) - omega * np.asarray(self_capacitance)))


def first_series_resonance(
    turns: ArrayLike, diameter: ArrayLike, length: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Estimate where a choke first is a short circuit: half a wave long on its own winding.

    Parameters
    ----------
    turns, diameter, length : array_like
        Of a single layer, broadcastable; [m].

    Returns
    -------
    estimate, low, high : ndarray
        [Hz]. The true one lies between the last two, a factor of about 2 apart: chassis, former and the way the
        turns are spread move it. Only a measurement, ends shorted together, tells it.

    Notes
    -----
    A wave runs along a helix with the share ``V = 1 / sqrt(1 + 20 (n D)^2.5 (D / lambda)^0.5)`` of the velocity of
    light, n turns per metre and diameter D (A. G. Kandoian and W. Sichak, "Wide-Frequency-Range Tuned Helical
    Antennas and Circuits", Electrical Communication 30, 1953, p. 294; from memory), for ``n D^2 <= lambda / 5``.
    The length is ``V lambda / 2`` at the estimate: with x the root of lambda, ``x^5 / 4 - l^2 x - k = 0``. The
    lowest is the wave along the wire at the velocity of light (common practice, no source). The highest stands
    for a winding alone in space, whose half wave is up to 2.3 times its quarter wave (derived: rings with
    inductance and potential coefficients, in the tests).
    """
    from scipy.optimize import newton

    turns, diameter, length = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (turns, diameter, length))
    )
    slowing = 20 * length**2 * (turns * diameter / length) ** 2.5 * np.sqrt(diameter)
    wire = np.hypot(np.pi * turns * diameter, length)
    # Above the one positive root the quintic is convex, so that Newton's method comes down on it.
    start = np.sqrt(2 * length) + (4 * slowing) ** 0.2 + 1e-9
    root = newton(
        lambda x: x**5 / 4 - length**2 * x - slowing, start, lambda x: 1.25 * x**4 - length**2, tol=1e-12
    )
    estimate = LIGHT / np.asarray(root) ** 2
    return estimate, np.minimum(LIGHT / (2 * wire), estimate), RESONANCE_ABOVE * estimate


def short_coil_inductance(turns: ArrayLike, diameter: ArrayLike, length: ArrayLike) -> FloatArray:
    """Compute the inductance of a single-layer coil of few turns [H].

    Parameters
    ----------
    turns, diameter, length : array_like
        Of the layer, broadcastable; diameter centre to centre of the wire, [m].

    Returns
    -------
    ndarray
        ``a^2 n^2 / (9 a + 10 l)`` uH with radius a and length l in inches (H. A. Wheeler, "Simple Inductance
        Formulas for Radio Coils", Proc. IRE 16, 1928, p. 1398; from memory).

    Notes
    -----
    Within 1 % of a current sheet where the length is more than 0.4 of the diameter. A few turns of thick wire
    have less than the sheet, by a tenth or so, and their leads add what they have.
    """
    inch = 0.0254
    radius, extent = np.asarray(diameter, dtype=float) / 2 / inch, np.asarray(length, dtype=float) / inch
    return np.asarray(np.square(turns) * radius**2 / (9 * radius + 10 * extent) * 1e-6)
