"""Mutual inductance of coaxial circles and of coaxial solenoids, in closed form.

Everything takes and returns SI floats or arrays and broadcasts, so many pairs cost one call.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.coil.conductor_loss import VACUUM_PERMEABILITY


def coaxial_circles(
    first_radius: ArrayLike, second_radius: ArrayLike, distance: ArrayLike
) -> NDArray[np.float64]:
    """Give Maxwell's mutual inductance of two coaxial circular filaments.

    Parameters
    ----------
    first_radius, second_radius : array_like
        [m], above 0.
    distance : array_like
        Between their planes [m], either sign. Equal circles must stand apart.

    Returns
    -------
    ndarray
        [H], broadcast; infinite for two equal circles in one plane. Maxwell's second form (a Landen
        transformation of DLMF 19.34): with r1, r2 the longest and shortest distance between the circles and
        k1 = (r1 - r2) / (r1 + r2), ``M = 2 mu0 sqrt(ab / k1) (K(k1) - E(k1))``, and K - E by Carlson's R_D:
        full precision at any distance.
    """
    from scipy.special import elliprd

    first, second, apart = np.broadcast_arrays(
        *(np.asarray(item, dtype=float) for item in (first_radius, second_radius, distance))
    )
    longest, shortest = np.hypot(first + second, apart), np.hypot(first - second, apart)
    modulus = 4.0 * first * second / (longest + shortest) ** 2
    complement = 4.0 * longest * shortest / (longest + shortest) ** 2
    scale = 2.0 / 3.0 * VACUUM_PERMEABILITY * np.sqrt(first * second) * modulus**1.5
    return np.asarray(scale * elliprd(0.0, complement, 1.0))


def _solid_angle_sum(
    first: NDArray[np.float64],
    second: NDArray[np.float64],
    height: NDArray[np.float64],
    longest: NDArray[np.float64],
    complement: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Give a I(0,1;0) + b I(1,0;0), I(m,n;0) the integral of J_m(ka) J_n(kb) exp(-kz) over k.

    Each is the solid angle of one circle seen from a point of the other, with a the smaller radius::

        a/b - z / (pi s) [K (a/b + b/a) - d Pi(1 - d^2, k) (b/a - a/b)],   d = (b - a) / (b + a).
    """
    from scipy.special import elliprf, elliprj

    small, large = np.minimum(first, second), np.maximum(first, second)
    ratio = small / large
    offset = (large - small) / (large + small)
    complete = elliprf(0.0, complement, 1.0)
    # For equal radii the factor of Pi vanishes faster than Pi grows; the floor only avoids 0 times infinity.
    unequal = np.maximum(offset**2, 1e-30)
    third = complete + (1.0 - unequal) / 3.0 * elliprj(0.0, complement, 1.0, unequal)
    bracket = complete * (ratio + 1.0 / ratio) - offset * third * (1.0 / ratio - ratio)
    return np.asarray(ratio - height / (np.pi * longest) * bracket)


def coaxial_sheet_potential(
    first_radius: ArrayLike, second_radius: ArrayLike, distance: ArrayLike
) -> NDArray[np.float64]:
    """Give the function whose second derivative in the distance is `coaxial_circles`.

    Two sheets reaching over [z1, z2] and [z3, z4], z2 <= z3, with n and m turns per metre, have the mutual
    inductance ``n m (P(z3 - z2) - P(z3 - z1) - P(z4 - z2) + P(z4 - z1))``.

    Parameters
    ----------
    first_radius, second_radius : array_like
        [m], above 0.
    distance : array_like
        [m], at least 0.

    Returns
    -------
    ndarray
        [H m^2], broadcast; positive, falling, 0 at infinity.

    Notes
    -----
    ``P = mu0 pi a b I(1,1;-2)``, I(m,n;p) the integral of J_m(ka) J_n(kb) exp(-kz) k^p over k. Derived by
    integrating d(J J exp k^p)/dk by parts, twice::

        3 I(1,1;-2) = 2 a b I(0,0;0) - (a^2 + b^2 - z^2/2) I(1,1;0) - 3/2 z (a I(0,1;0) + b I(1,0;0)),

    with the complete integrals K and E for the first two and Pi for the third. The terms in K are gathered
    so that equal radii at no distance give their finite limit, ``4 mu0 a^3 / 3``.
    """
    from scipy.special import ellipe, elliprf

    first, second, height = np.broadcast_arrays(
        *(np.asarray(item, dtype=float) for item in (first_radius, second_radius, distance))
    )
    product = first * second
    longest = np.hypot(first + second, height)
    shortest_squared = (first - second) ** 2 + height**2
    # The floor stands for "touching": everything that multiplies K vanishes there.
    complement = np.maximum(shortest_squared / longest**2, 1e-100)
    modulus = 4.0 * product / longest**2
    complete = elliprf(0.0, complement, 1.0)
    second_integral = ellipe(modulus)
    gathered = 2.0 * (first**2 + second**2) * second_integral
    gathered -= (4.0 * product * complement + (first - second) ** 2 * (2.0 - modulus)) * complete
    circles = coaxial_circles(first, second, np.maximum(height, 1e-50 * longest))
    angles = _solid_angle_sum(first, second, height, longest, complement)
    # coaxial_circles already carries mu0 pi a b.
    scale = VACUUM_PERMEABILITY * np.pi * product
    own = scale * (longest / (2.0 * np.pi * product) * gathered - 1.5 * height * angles)
    return np.asarray((own + 0.5 * height**2 * circles) / 3.0)


def coaxial_solenoids(
    first_turns: ArrayLike,
    first_diameter: ArrayLike,
    first_length: ArrayLike,
    second_turns: ArrayLike,
    second_diameter: ArrayLike,
    second_length: ArrayLike,
    gap: ArrayLike,
) -> NDArray[np.float64]:
    """Give the mutual inductance of two coaxial cylindrical current sheets, one beside the other.

    Parameters
    ----------
    first_turns, second_turns : array_like
        At least 0.
    first_diameter, first_length, second_diameter, second_length : array_like
        [m], above 0.
    gap : array_like
        Between the facing ends [m], at least 0 (touching).

    Returns
    -------
    ndarray
        [H], broadcast. Exact for sheets, see `coaxial_sheet_potential`; the error is below 1e-14 of
        mu0 pi a b n m / (l1 l2) times the overall length, so 1e-12 of the coupling of ordinary coils.
    """
    near, one, two = (np.asarray(item, dtype=float) for item in (gap, first_length, second_length))
    first, second = (
        0.5 * np.asarray(first_diameter, dtype=float),
        0.5 * np.asarray(second_diameter, dtype=float),
    )
    potential = (
        coaxial_sheet_potential(first, second, near)
        - coaxial_sheet_potential(first, second, near + one)
        - coaxial_sheet_potential(first, second, near + two)
        + coaxial_sheet_potential(first, second, near + one + two)
    )
    return np.asarray(np.asarray(first_turns) / one * np.asarray(second_turns) / two * potential)
