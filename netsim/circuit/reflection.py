"""Antennas by their reflection coefficient, with or without a measured filter before them."""

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray, Termination

PHASES = 72
RADII = 8


def loads_within(swr: float, phases: int = PHASES, radii: int = RADII) -> ComplexArray:
    """Give reflection coefficients on and inside a circle of constant standing wave ratio.

    Parameters
    ----------
    swr : float
        Of the circle, 1 or more.
    phases, radii : int
        Rays, and circles evenly spaced up to the outermost.

    Returns
    -------
    ndarray
        Shape ``(radii * phases,)``, the outermost circle last; the single zero at an SWR of 1.
    """
    if swr <= 1:
        return np.zeros(1, dtype=np.complex128)
    radius = (swr - 1) / (swr + 1) * np.arange(1, radii + 1) / radii
    angle = 2 * np.pi * np.arange(phases) / phases
    return np.ravel(radius[:, np.newaxis] * np.exp(1j * angle))


def impedance_of(reflection: ComplexArray, reference: FloatArray | float) -> ComplexArray:
    """Give the impedance ``r (1 + G) / (1 - G)`` [ohm] of reflection coefficients of any shape."""
    return np.asarray(reference * (1 + reflection) / (1 - reflection))


def reflection_of(impedance: ComplexArray, reference: FloatArray | float) -> ComplexArray:
    """Give the reflection coefficient ``(Z - r) / (Z + r)`` of impedances [ohm] of any shape."""
    return np.asarray((impedance - reference) / (impedance + reference))


def swr_of(reflection: ComplexArray) -> FloatArray:
    """Give the standing wave ratio of reflection coefficients of any shape."""
    size = np.abs(reflection)
    return np.asarray((1 + size) / (1 - size))


def behind_filter(
    scattering: ComplexArray, reference: float, antenna: ComplexArray, beyond: FloatArray
) -> Termination:
    """Put a measured filter before an antenna.

    Parameters
    ----------
    scattering : ndarray
        Of the filter, port 1 at the network, shape ``(networks, orders, 2, 2)``.
    reference : float
        Resistance it refers to [ohm].
    antenna : ndarray
        Complex impedance behind the filter [ohm], broadcastable to ``(networks, orders)``.
        Where the filter is NaN it was not measured.
    beyond : ndarray
        Resistance at higher orders [ohm], shape ``(networks,)``.

    Returns
    -------
    Termination
        What the network sees, and what share of its power reaches the antenna. Where the filter was not
        measured the network sees the resistance of higher orders, and what is delivered is NaN.

    Notes
    -----
    With G the antenna's reflection coefficient, the filter shows ``S11 + S12 S21 G / (1 - S22 G)``. The
    antenna's current per current into the filter is ``S21 (1 - G) / ((1 - S22 G)(1 - G_in))``. Derived from
    the definition of the waves, voltage ``sqrt(r) (a + b)`` and current ``(a - b) / sqrt(r)``.
    """
    unknown = np.asarray(np.isnan(scattering).any(axis=(-2, -1)))
    wire = np.array([[0, 1], [1, 0]])
    scattering = np.where(unknown[..., np.newaxis, np.newaxis], wire, scattering)
    s11, s12 = scattering[..., 0, 0], scattering[..., 0, 1]
    s21, s22 = scattering[..., 1, 0], scattering[..., 1, 1]
    load = reflection_of(antenna, reference)
    rest = 1 - s22 * load
    seen = s11 + s12 * s21 * load / rest
    passed = s21 * (1 - load) / (rest * (1 - seen))
    delivered = np.abs(passed) ** 2 * np.broadcast_to(antenna, passed.shape).real
    impedance = np.where(unknown, np.asarray(beyond)[..., np.newaxis], impedance_of(seen, reference))
    return Termination(impedance, beyond, np.where(unknown, np.nan, delivered))


def through_filter(scattering: ComplexArray, into: ComplexArray) -> ComplexArray:
    """Give what a filter's far end reflects, ``S22 + S12 S21 G / (1 - S11 G)``, with G behind its port 1; derived."""
    s = scattering
    return np.asarray(s[..., 1, 1] + s[..., 0, 1] * s[..., 1, 0] * into / (1 - s[..., 0, 0] * into))


def power_spread(source: FloatArray, swr: float) -> tuple[FloatArray, FloatArray]:
    """Give how far the power into a termination can lie from that into a matched one.

    Parameters
    ----------
    source : ndarray
        Size of the reflection coefficient that the termination looks back into, any shape, below 1.
    swr : float
        Of the worst termination; all phases, and every SWR up to it.

    Returns
    -------
    lowest, highest : ndarray
        [dB], shape of `source`.

    Notes
    -----
    The power goes as ``(1 - |G|^2) / |1 - G S|^2`` with G the termination's and S the source's reflection
    coefficient: least at the outermost G in antiphase, most at G = conj(S) or at the outermost G in phase.
    """
    outer = (swr - 1) / (swr + 1)
    best = np.minimum(source, outer)
    lowest = 10 * np.log10((1 - outer**2) / (1 + outer * source) ** 2)
    highest = 10 * np.log10((1 - best**2) / (1 - best * source) ** 2)
    return np.asarray(lowest), np.asarray(highest)
