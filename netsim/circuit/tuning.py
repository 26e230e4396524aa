"""Where the two capacitors must stand: the closed-form match and the dip."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import Sections, cut_open

BoolArray = npt.NDArray[np.bool_]

_SCAN = 200
_BLOCK = 16384
"""Networks at a time: some 30 MB."""

_ROUNDING = 1e-14


@dataclass(frozen=True)
class Match:
    """The two settings that would make the plate see its load, in or out of the parts' ranges.

    Attributes
    ----------
    tune, load : ndarray
        Settings of the variable parts alone [F], shape ``(2, networks)``: first the candidate with more
        load capacitance, then the one with less. NaN where there is none. May be negative: then stray
        or padding is already too much.
    """

    tune: FloatArray
    load: FloatArray

    @property
    def exists(self) -> BoolArray:
        """Which candidates exist, shape ``(2, networks)``."""
        return np.isfinite(self.load)

    def take(self, rows: slice) -> "Match":
        """Choose the candidates of some networks."""
        return Match(self.tune[:, rows], self.load[:, rows])

    def within(self, parts: Parts) -> BoolArray:
        """Tell which candidates the parts can reach, shape ``(2, networks)``."""
        with np.errstate(invalid="ignore"):
            return np.asarray(
                (self.tune >= parts.tune_minimum)
                & (self.tune <= parts.tune_maximum)
                & (self.load >= parts.load_minimum)
                & (self.load <= parts.load_maximum)
            )


def match(parts: Parts) -> Match:
    """Find every pair of settings that transforms the antenna to the plate load.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.

    Returns
    -------
    Match
        At most two candidates per network.

    Notes
    -----
    ``V_P - R_L I_P`` is bilinear in the settings, ``(m00 + m01 C2) + (m10 + m11 C2) C1``, and has to vanish: the
    tune setting ``C1 = -(m00 + m01 C2) / (m10 + m11 C2)`` must be real, which is one real equation, quadratic
    in the load setting C2. Exact with losses, leads and coupled coils as well; no iteration. A candidate
    counts if the load capacitance in total (setting, padding, stray) is not negative. Derived.
    """
    found = [_candidates(parts.take(rows)) for rows in parts.blocks(_BLOCK)]
    return Match(*np.concatenate(found, axis=-1))


def _candidates(parts: Parts) -> FloatArray:
    """Find tune and load of both candidates, the one with more load capacitance first, ``(2, 2, networks)``."""
    s = cut_open(parts)
    (m00, m01), (m10, m11) = s.plate_voltage.coefficients - parts.plate_load * s.plate_current.coefficients
    load = real_roots(
        np.imag(m01 * np.conj(m11)),
        np.imag(m00 * np.conj(m11) + m01 * np.conj(m10)),
        np.imag(m00 * np.conj(m10)),
    )
    total = load + parts.load_padding + parts.load_stray
    with np.errstate(invalid="ignore"):
        load = np.where(total >= 0, load, np.nan)
        tune = -np.real((m00 + m01 * load) / (m10 + m11 * load))
    # A missing candidate sorts behind an existing one.
    order = np.argsort(np.where(np.isnan(load), np.inf, -load), axis=0)
    return np.take_along_axis(np.stack([tune, load]), order[np.newaxis], axis=1)


def dip(parts: Parts, load: FloatArray, *, antenna_connected: bool = True) -> FloatArray:
    """Find the tune setting within range that makes the plate see a pure, high resistance.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    load : ndarray
        Load setting [F], shape ``(networks,)``.
    antenna_connected : bool
        False: the antenna has come off.

    Returns
    -------
    ndarray
        Tune setting [F], shape ``(networks,)``; the stop nearest to the dip where that is out of range.

    Notes
    -----
    ``Im(I_P conj(V_P)) = 0`` is quadratic in the setting. Of the two resonances the one with the smaller
    admittance is the dip; the other one, where the parts in the plate lead are in series resonance, is
    nearly a short circuit. Where losses leave no exact resonance, the nearest approach is given.
    """
    load = np.broadcast_to(load, (len(parts),))
    found = [
        _resonance(cut_open(parts.take(rows), antenna_connected=antenna_connected), load[rows])
        for rows in parts.blocks(_BLOCK)
    ]
    return np.asarray(np.clip(np.concatenate(found), parts.tune_minimum, parts.tune_maximum))


def _resonance(s: Sections, load: FloatArray) -> FloatArray:
    """Tune setting of the dip, in range or not."""
    current, current_slope = s.plate_current.along_tune(load)
    voltage, voltage_slope = s.plate_voltage.along_tune(load)
    squared = np.imag(current_slope * np.conj(voltage_slope))
    linear = np.imag(current_slope * np.conj(voltage) + current * np.conj(voltage_slope))
    roots = real_roots(squared, linear, np.imag(current * np.conj(voltage)))
    with np.errstate(divide="ignore", invalid="ignore"):
        turning = -linear / (2 * squared)
        roots = np.where(np.isnan(roots).all(axis=0), turning, roots)
        admittance = np.abs((current + current_slope * roots) / (voltage + voltage_slope * roots))
    chosen = np.argmin(np.where(np.isnan(admittance), np.inf, admittance), axis=0)
    return np.asarray(np.take_along_axis(roots, chosen[np.newaxis], axis=0)[0])


def largest_coil(parts: Parts) -> FloatArray:
    """Find the largest coil for which any match exists, the capacitors being free.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.

    Returns
    -------
    ndarray
        [H], shape ``(networks,)``; NaN where nothing from a thousandth to ten times the present coil
        matches, infinite where even ten times would.

    Notes
    -----
    A geometric scan finds the topmost coil that matches, halving narrows its upper edge. A coil that
    is too small has no match either: the loaded Q it asks for exceeds the coil's own.
    """
    return np.concatenate([_largest_coil(parts.take(rows)) for rows in parts.blocks(_BLOCK // _SCAN)])


def _largest_coil(parts: Parts) -> FloatArray:
    n = len(parts)
    factor = np.geomspace(1e-3, 10, _SCAN)
    repeated = parts.take(np.tile(np.arange(n), _SCAN))
    scanned = replace(repeated, coil=repeated.coil * np.repeat(factor, n))
    good = match(scanned).exists.any(axis=0).reshape(_SCAN, n)
    topmost = _SCAN - 1 - np.argmax(good[::-1], axis=0)
    below, above = (parts.coil * factor[np.minimum(topmost + step, _SCAN - 1)] for step in (0, 1))

    def matches(coil: FloatArray) -> BoolArray:
        return np.asarray(match(replace(parts, coil=coil)).exists.any(axis=0))

    low = edge_between(below, above, matches)
    return np.where(good[-1], np.inf, np.where(good.any(axis=0), low, np.nan))


def edge_between(good: FloatArray, bad: FloatArray, holds: Callable[[FloatArray], BoolArray]) -> FloatArray:
    """Find the edge of what holds between a value where it does and one where it does not, by halving the ratio.

    Parameters
    ----------
    good, bad : ndarray
        Above zero, of one shape.
    holds : callable
        Tells of such an array where it holds.

    Returns
    -------
    ndarray
        The last value where it holds; next to nothing but rounding is left between it and one where it does not.
    """
    widest = float(np.max(np.abs(np.log(bad / good)), initial=_ROUNDING))
    for _ in range(math.ceil(math.log2(widest / _ROUNDING))):
        middle = np.sqrt(good * bad)
        still = holds(middle)
        good, bad = np.where(still, middle, good), np.where(still, bad, middle)
    return good


def real_roots(squared: FloatArray, linear: FloatArray, constant: FloatArray) -> FloatArray:
    """Solve ``squared x^2 + linear x + constant = 0`` for real x without cancellation.

    Parameters
    ----------
    squared, linear, constant : ndarray
        Shape ``(networks,)``.

    Returns
    -------
    ndarray
        Shape ``(2, networks)``; NaN where complex, and for the root that a vanishing `squared` sends to
        infinity.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(linear**2 - 4 * squared * constant)
        larger = -0.5 * (linear + np.where(linear < 0, -root, root))
        roots = np.stack([larger / squared, constant / larger])
    return np.where(np.isfinite(roots), roots, np.nan)


def plate_impedance(parts: Parts, tune: FloatArray, load: FloatArray) -> ComplexArray:
    """Give the impedance [ohm] that the plate sees at given settings [F], shape ``(networks,)``."""
    return cut_open(parts).plate_impedance(tune, load)
