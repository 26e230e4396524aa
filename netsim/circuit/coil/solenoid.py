"""Inductance of a single-layer solenoid: Nagaoka's current sheet with Rosa's corrections for round wire.

Everything takes and returns SI floats or arrays and broadcasts.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.coil.conductor_loss import VACUUM_PERMEABILITY

SHORTEST_ARC = 0.5
"""Turns below which a coil is taken as an arc whose inductance goes with its length."""

# Below this squared complementary modulus (length/diameter 0.03) E - k cancels; a series takes over.
_SHORT = 1e-3


def _second_integral_less_modulus(complement_squared: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give E(k) - k for k'^2 << 1 without cancellation (DLMF 19.12.2), five terms: 1e-15 at k'^2 = 1e-3."""
    from scipy.special import digamma, poch

    order = np.arange(5.0)
    weight = 0.5 * poch(0.5, order) * poch(1.5, order) / (poch(2.0, order) * poch(1.0, order))
    constant = digamma(1.0 + order) - digamma(0.5 + order) - 1.0 / ((2 * order + 1) * (2 * order + 2))
    column = complement_squared[..., None]
    terms = weight * column ** (order + 1.0) * (constant - 0.5 * np.log(column))
    modulus = np.sqrt(1.0 - complement_squared)
    return np.asarray(terms.sum(axis=-1) + complement_squared / (1.0 + modulus))


def nagaoka_coefficient(length_to_diameter: ArrayLike) -> NDArray[np.float64]:
    """Give Nagaoka's coefficient: a cylindrical current sheet over the same length of an endless one.

    Parameters
    ----------
    length_to_diameter : array_like
        Length over diameter, 0 to 1e150; 0 below 1e-150.

    Returns
    -------
    ndarray
        Dimensionless, 0 to 1; the relative error is below 1e-12 everywhere. With k = D / sqrt(D^2 + l^2)
        and the complementary modulus k'::

            K_N = 4 / (3 pi k') [k'^2 (K - E) / k^2 + E - k],

        (K - E) / k^2 by Carlson's R_D(0, k'^2, 1) / 3, so that long coils do not cancel.

    Notes
    -----
    H. Nagaoka, J. Coll. Sci. Tokyo 27 (1909); F. W. Grover, Inductance Calculations, Table 36.
    """
    from scipy.special import ellipe, elliprd

    ratio = np.asarray(length_to_diameter, dtype=float)
    complement = ratio / np.hypot(1.0, ratio)
    squared = complement**2
    ordinary = np.maximum(squared, _SHORT)
    bracket = ellipe(1.0 - ordinary) - 1.0 / np.hypot(
        1.0, np.maximum(ratio, np.sqrt(_SHORT / (1.0 - _SHORT)))
    )
    short = _second_integral_less_modulus(np.clip(squared, 1e-300, _SHORT))
    held = np.where(squared > 1e-300, squared, 1.0)
    total = held * elliprd(0.0, held, 1.0) / 3.0 + np.where(squared < _SHORT, short, bracket)
    return np.asarray(np.where(squared > 1e-300, 4.0 * total / (3.0 * np.pi * np.sqrt(held)), 0.0))


def current_sheet_inductance(
    turns: ArrayLike, mean_diameter: ArrayLike, length: ArrayLike
) -> NDArray[np.float64]:
    """Give the inductance of a cylindrical current sheet.

    Parameters
    ----------
    turns : array_like
        At least 0, fractions allowed.
    mean_diameter, length : array_like
        [m], above 0.

    Returns
    -------
    ndarray
        [H], broadcast. ``mu0 pi D^2 N^2 K_N / (4 l)``.
    """
    diameter, length = np.asarray(mean_diameter, dtype=float), np.asarray(length, dtype=float)
    area = 0.25 * np.pi * diameter**2
    return np.asarray(
        VACUUM_PERMEABILITY
        * area
        * np.asarray(turns, dtype=float) ** 2
        / length
        * nagaoka_coefficient(length / diameter)
    )


def rosa_size_correction(
    pitch_to_conductor: ArrayLike, internal_inductance_ratio: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Give Rosa's A: a turn of round wire against a strip as wide as the pitch.

    Parameters
    ----------
    pitch_to_conductor : array_like
        Pitch over conductor diameter.
    internal_inductance_ratio : array_like, optional
        Internal inductance left of the DC one, 1 (default, Rosa's own: uniform current) to 0 (all current
        at the surface). Skin effect lowers the inductance of a turn by up to a quarter of mu0 a.

    Returns
    -------
    ndarray
        Dimensionless, ``1.25 - ln(2 p/d) + (1 - ratio) / 4``, broadcast.
    """
    spacing = np.asarray(pitch_to_conductor, dtype=float)
    return np.asarray(1.25 - np.log(2.0 * spacing) + 0.25 * (1.0 - np.asarray(internal_inductance_ratio)))


def _pair_corrections(count: int) -> NDArray[np.float64]:
    """Give c_k, k = 1..count: mutual of two strips k pitches apart less that of two filaments, over mu0 a.

    The geometric mean distance of the strips is a second difference of u^2/2 ln u - 3u^2/4; expanded for
    k >= 8, where the difference would cancel.
    """
    lag = np.arange(1.0, count + 1.0)
    power = np.arange(1.0, 10.0)
    far = ((1.0 / lag[:, None]) ** (2 * power) / (power * (2 * power + 1) * (2 * power + 2))).sum(axis=1)
    edge = np.arange(0.0, 10.0)
    area = 0.5 * edge**2 * np.log(np.maximum(edge, 1e-300)) - 0.75 * edge**2
    near = np.log(edge[1:-1]) - np.diff(area, 2)
    return np.concatenate([near[:count], far[near.size :]])


def rosa_pair_sum(turns: ArrayLike) -> NDArray[np.float64]:
    """Give n B(n), B being Rosa's correction for the number of turns.

    Parameters
    ----------
    turns : array_like
        At least 0, fractions allowed.

    Returns
    -------
    ndarray
        Dimensionless. ``2 sum over k < n of (n - k) c_k``: c_k compares strips and filaments k turns apart,
        and n - k is the stretch of winding that has a neighbour k turns on. Rosa's series, summed in full:
        exact for whole n in his approximation (pitch small against the radius), linear between, 0 up to one.
    """
    count = np.asarray(turns, dtype=float)
    whole = int(np.ceil(np.max(count, initial=1.0)))
    pairs = 2.0 * _pair_corrections(whole)
    at_whole = np.concatenate([[0.0, 0.0], np.cumsum(np.cumsum(pairs))])
    return np.asarray(np.interp(count, np.arange(at_whole.size), at_whole))


def rosa_turns_correction(turns: ArrayLike) -> NDArray[np.float64]:
    """Give Rosa's B: that only neighbouring turns, not strips, are there to couple.

    Parameters
    ----------
    turns : array_like
        At least 0, fractions allowed.

    Returns
    -------
    ndarray
        Dimensionless: 0 up to one turn, .1137 at two, towards ln(2 pi) - 1.5 = .33788. See `rosa_pair_sum`.
    """
    count = np.asarray(turns, dtype=float)
    return np.asarray(rosa_pair_sum(count) / np.maximum(count, 1.0))


def solenoid_inductance(
    turns: ArrayLike,
    mean_diameter: ArrayLike,
    pitch: ArrayLike,
    conductor_diameter: ArrayLike,
    internal_inductance_ratio: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Give the inductance of a single-layer coil of round wire, of any length.

    Parameters
    ----------
    turns : array_like
        At least 0, fractions allowed.
    mean_diameter, pitch, conductor_diameter : array_like
        [m]; the diameter centre to centre of the conductor. Pitch at least the conductor, and well below
        the diameter.
    internal_inductance_ratio : array_like, optional
        See `rosa_size_correction`; 1 is Rosa's formula as published.

    Returns
    -------
    ndarray
        [H], broadcast. ``Ls - mu0 a n (A + B)`` from half a turn on (E. B. Rosa, Bulletin of the Bureau of
        Standards 2 (1906) 161). Below, the same share of half a turn: a short arc is its own near field, in
        proportion to its length, where the formula would fall with the square and then go negative.
    """
    count = np.asarray(turns, dtype=float)
    held = np.maximum(count, SHORTEST_ARC)
    radius = 0.5 * np.asarray(mean_diameter, dtype=float)
    pitch = np.asarray(pitch, dtype=float)
    size = rosa_size_correction(pitch / np.asarray(conductor_diameter), internal_inductance_ratio)
    sheet = current_sheet_inductance(held, mean_diameter, held * pitch)
    whole = sheet - VACUUM_PERMEABILITY * radius * (held * size + rosa_pair_sum(held))
    return np.asarray(whole * np.minimum(count / SHORTEST_ARC, 1.0))
