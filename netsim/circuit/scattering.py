"""Measured scattering parameters between their points: delay taken out, interpolated, delay put back."""

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray, IndexArray

_REFINEMENTS = 8
_SAME = 1e-9
"""Relative distance at which a wanted frequency is a measured one."""

NOTICEABLE = 0.05
"""Size of a scattering parameter whose phase is worth looking at: an SWR of 1.1 where it reflects."""


def between(frequency: FloatArray, scattering: ComplexArray, wanted: FloatArray) -> ComplexArray:
    """Compute scattering parameters between measured points.

    Parameters
    ----------
    frequency : ndarray
        Measured, ascending [Hz], shape ``(points,)``.
    scattering : ndarray
        Complex, shape ``(points, ports, ports)``.
    wanted : ndarray
        [Hz], any shape.

    Returns
    -------
    ndarray
        Complex, of that shape and ports by ports; NaN below the first and above the last point.

    Notes
    -----
    A line of delay T before what is measured turns its phase by ``-2 pi f T``, often by more from point to point
    than a straight line can follow. Each parameter is turned back by the delay that fits its steps best, then
    interpolated in real and imaginary part by Akima's method (J. ACM 17, 1970, p. 589) with weights that keep
    flat stretches flat, and turned again. It reaches every measured point. Where it would reflect or pass more
    than the larger of both neighbours it is scaled down to that, so that what is passive stays so.
    """
    ports = scattering.shape[-1]
    found = np.full((*wanted.shape, ports, ports), np.nan, dtype=np.complex128)
    inside = is_within(frequency, wanted)
    at = np.clip(wanted[inside], frequency[0], frequency[-1])
    for row in range(ports):
        for column in range(ports):
            found[inside, row, column] = _turned(frequency, scattering[:, row, column], at)
    lower, upper = neighbours(frequency, at)
    size = np.linalg.norm(scattering, 2, axis=(1, 2))
    most, here = np.maximum(size[lower], size[upper]), np.linalg.norm(found[inside], 2, axis=(1, 2))
    scale = np.minimum(1.0, np.divide(most, here, out=np.ones_like(here), where=here > 0))
    found[inside] *= scale[:, np.newaxis, np.newaxis]
    return found


def is_within(frequency: FloatArray, wanted: FloatArray) -> "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]":
    """Tell which wanted frequencies lie between the first and the last measured one, rounding allowed."""
    return np.asarray(
        (wanted >= frequency[0] * (1 - _SAME)) & (wanted <= frequency[-1] * (1 + _SAME)), dtype=np.bool_
    )


def neighbours(frequency: FloatArray, wanted: FloatArray) -> tuple[IndexArray, IndexArray]:
    """Find the points below and above wanted frequencies; twice the same point where one was measured.

    Parameters
    ----------
    frequency : ndarray
        Measured, ascending [Hz], shape ``(points,)``.
    wanted : ndarray
        Within them [Hz], shape ``(n,)``.

    Returns
    -------
    lower, upper : ndarray of int
        Shape ``(n,)``.
    """
    last = len(frequency) - 1
    upper = np.clip(np.searchsorted(frequency, wanted), 0, last)
    lower = np.maximum(upper - 1, 0)
    for place in (lower, upper):
        hit = np.abs(frequency[place] - wanted) <= _SAME * wanted
        lower, upper = np.where(hit, place, lower), np.where(hit, place, upper)
    return lower.astype(np.intp), upper.astype(np.intp)


def delay(frequency: FloatArray, values: ComplexArray) -> float:
    """Fit the delay [s] that explains the steps of phase between neighbouring points best.

    Parameters
    ----------
    frequency : ndarray
        Ascending [Hz], shape ``(points,)``.
    values : ndarray
        Complex, shape ``(points,)``.

    Notes
    -----
    Steps are known up to whole turns. Starting from their weighted median, weighted least squares over what is
    left of each, within half a turn, are repeated; the weight is the product of both sizes, because the phase of
    what is small is noise.
    """
    step, cross = np.diff(frequency), values[1:] * np.conj(values[:-1])
    weight = np.abs(cross)
    if not weight.sum() > 0:
        return 0.0
    slope = np.angle(cross) / step
    order = np.argsort(slope)
    heap = np.cumsum(weight[order])
    fitted = float(slope[order][np.searchsorted(heap, heap[-1] / 2)])
    for _ in range(_REFINEMENTS):
        rest = np.angle(cross * np.exp(-1j * fitted * step))
        fitted += float((weight * rest * step).sum() / (weight * step**2).sum())
    return -fitted / (2 * np.pi)


def phase_steps(frequency: FloatArray, scattering: ComplexArray, wanted: FloatArray) -> FloatArray:
    """Compute by how much the phase turns between the points around wanted frequencies.

    Parameters
    ----------
    frequency, scattering
        As `between` has them.
    wanted : ndarray
        Within the measured ones [Hz], shape ``(n,)``.

    Returns
    -------
    ndarray
        The largest turn of any parameter that is not small [rad], whole turns by its delay included, shape
        ``(n,)``; 0 where the frequency was measured itself.
    """
    lower, upper = neighbours(frequency, wanted)
    largest = np.zeros(len(wanted))
    if len(frequency) < 2:
        return largest
    ports = scattering.shape[-1]
    for row in range(ports):
        for column in range(ports):
            values = scattering[:, row, column]
            line = 2 * np.pi * delay(frequency, values) * (frequency[upper] - frequency[lower])
            one, other = values[lower], values[upper]
            turn = np.abs(np.angle(other * np.conj(one) * np.exp(1j * line)) - line)
            counts = (np.maximum(np.abs(one), np.abs(other)) >= NOTICEABLE) & (lower != upper)
            largest = np.maximum(largest, np.where(counts, turn, 0.0))
    return largest


def _turned(frequency: FloatArray, values: ComplexArray, wanted: FloatArray) -> ComplexArray:
    if len(frequency) < 2:
        return np.full(wanted.shape, values[0])
    from scipy.interpolate import Akima1DInterpolator

    turn = 2j * np.pi * delay(frequency, values)
    still = values * np.exp(turn * frequency)
    parts = np.stack([still.real, still.imag], axis=1)
    found = Akima1DInterpolator(frequency, parts, method="makima")(wanted)
    return np.asarray((found[:, 0] + 1j * found[:, 1]) * np.exp(-turn * wanted))
