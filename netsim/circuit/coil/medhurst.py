"""What R. G. Medhurst measured on single-layer coils: proximity factor and self-capacitance.

R. G. Medhurst, "H.F. Resistance and Self-Capacitance of Single-Layer Solenoids", Wireless Engineer 24
(1947), pp. 35 and 80. Both tables are kept as printed. In copies of the first, the entry at length/diameter
10 and spacing ratio 1.429 is found as 2.27 and as 2.37; 2.37 follows the trend. The 1.20 at (0, 2.5) lies
off the trend too, and is kept.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

_LENGTH_TO_DIAMETER = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, np.inf])
# Wire diameter over pitch; 0 is the wire alone, where the factor is 1 by its definition.
_DIAMETER_TO_PITCH = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
_FACTOR = np.array(
    [
        [1.00, 1.02, 1.07, 1.16, 1.20, 1.44, 1.74, 2.12, 2.74, 3.73, 5.31],
        [1.00, 1.02, 1.08, 1.19, 1.29, 1.48, 1.77, 2.20, 2.83, 3.84, 5.45],
        [1.00, 1.03, 1.08, 1.21, 1.33, 1.54, 1.83, 2.28, 2.97, 3.99, 5.65],
        [1.00, 1.03, 1.10, 1.22, 1.38, 1.60, 1.89, 2.38, 3.10, 4.11, 5.80],
        [1.00, 1.03, 1.10, 1.23, 1.42, 1.64, 1.92, 2.44, 3.20, 4.17, 5.80],
        [1.00, 1.03, 1.10, 1.24, 1.45, 1.67, 1.94, 2.47, 3.17, 4.10, 5.55],
        [1.00, 1.04, 1.13, 1.28, 1.50, 1.74, 1.98, 2.32, 2.74, 3.36, 4.10],
        [1.00, 1.04, 1.15, 1.32, 1.54, 1.78, 2.01, 2.27, 2.60, 3.05, 3.54],
        [1.00, 1.04, 1.16, 1.34, 1.56, 1.80, 2.03, 2.29, 2.60, 2.92, 3.31],
        [1.00, 1.04, 1.165, 1.34, 1.57, 1.81, 2.08, 2.34, 2.62, 2.90, 3.20],
        [1.00, 1.04, 1.17, 1.35, 1.58, 1.83, 2.10, 2.37, 2.65, 2.93, 3.23],
        [1.00, 1.05, 1.19, 1.395, 1.65, 1.93, 2.22, 2.51, 2.815, 3.11, 3.41],
    ]
)
# Length over diameter, and self-capacitance over diameter [pF/cm].
_CAPACITANCE_LENGTHS = np.array([0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 3.0, 5.0, 10.0])
_CAPACITANCE = np.array([0.96, 0.70, 0.60, 0.50, 0.47, 0.46, 0.50, 0.61, 0.81, 1.32])

FEWEST_TURNS = 8.0
THINNEST_CONDUCTOR = 5.0
"""Conductor diameter in skin depths below which the high-frequency factor no longer describes the wire."""


class Reservations(NamedTuple):
    """Why a proximity factor stands outside the measurements; arrays of bool of one shape."""

    few_turns: NDArray[np.bool_]
    """Fewer than about eight turns."""
    wide_pitch: NDArray[np.bool_]
    """Pitch beyond ten conductor diameters: between the last column and the wire alone."""
    length: NDArray[np.bool_]
    """Length over diameter below 0.2 or above 10: between a measured row and a limiting one."""
    thin_conductor: NDArray[np.bool_]
    """Conductor thinner than five skin depths."""

    @property
    def any(self) -> NDArray[np.bool_]:
        """Where at least one of the four applies."""
        return self.few_turns | self.wide_pitch | self.length | self.thin_conductor


def _bounded(length_to_diameter: ArrayLike) -> NDArray[np.float64]:
    """Map 0..infinity to 0..1, so that the limiting row of the table has a place."""
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(1.0 / (1.0 + 1.0 / np.asarray(length_to_diameter, dtype=float)))


def proximity_factor(length_to_diameter: ArrayLike, pitch_to_conductor: ArrayLike) -> NDArray[np.float64]:
    """Give the factor by which winding a wire into a coil raises its high-frequency resistance.

    Parameters
    ----------
    length_to_diameter : array_like
        Winding length over mean diameter, 0 to infinity.
    pitch_to_conductor : array_like
        Pitch over conductor diameter, at least 1.

    Returns
    -------
    ndarray
        Dimensionless, broadcast; Medhurst's table at its nodes. Between them the logarithm of the factor is
        bilinear in conductor diameter over pitch and in x / (1 + x), x being length over diameter: monotone
        between neighbouring nodes, never beyond them.

    Notes
    -----
    See `reservations` for where this is more than the measurements say.
    """
    columns = 1.0 / np.asarray(pitch_to_conductor, dtype=float)
    rows = _bounded(length_to_diameter)
    row_nodes = _bounded(_LENGTH_TO_DIAMETER)
    row = np.clip(np.searchsorted(row_nodes, rows, side="right") - 1, 0, row_nodes.size - 2)
    column = np.clip(
        np.searchsorted(_DIAMETER_TO_PITCH, columns, side="right") - 1, 0, _DIAMETER_TO_PITCH.size - 2
    )
    down = (rows - row_nodes[row]) / (row_nodes[row + 1] - row_nodes[row])
    along = (columns - _DIAMETER_TO_PITCH[column]) / (
        _DIAMETER_TO_PITCH[column + 1] - _DIAMETER_TO_PITCH[column]
    )
    table = np.log(_FACTOR)
    upper = (1.0 - along) * table[row, column] + along * table[row, column + 1]
    lower = (1.0 - along) * table[row + 1, column] + along * table[row + 1, column + 1]
    return np.asarray(np.exp((1.0 - down) * upper + down * lower))


def reservations(
    turns: ArrayLike, length_to_diameter: ArrayLike, pitch_to_conductor: ArrayLike, skin_depths: ArrayLike
) -> Reservations:
    """Tell where a proximity factor is outside what was measured.

    Parameters
    ----------
    turns : array_like
        Turns of the winding.
    length_to_diameter, pitch_to_conductor : array_like
        As for `proximity_factor`.
    skin_depths : array_like
        Conductor diameter over skin depth.

    Returns
    -------
    Reservations
        Four arrays of bool of the broadcast shape.
    """
    turns, length, pitch, depth = np.broadcast_arrays(
        np.asarray(turns, dtype=float), length_to_diameter, pitch_to_conductor, skin_depths
    )
    return Reservations(
        few_turns=turns < FEWEST_TURNS,
        wide_pitch=pitch > 10.0 * (1.0 + 1e-9),
        length=(length < 0.2 * (1.0 - 1e-9)) | (length > 10.0 * (1.0 + 1e-9)),
        thin_conductor=depth < THINNEST_CONDUCTOR,
    )


def self_capacitance(mean_diameter: ArrayLike, length: ArrayLike) -> NDArray[np.float64]:
    """Give the self-capacitance of a single-layer coil with one end at ground.

    Parameters
    ----------
    mean_diameter, length : array_like
        [m], above 0.

    Returns
    -------
    ndarray
        [F], broadcast. Medhurst's ``C = H D``; ln H linear in ln(length/diameter) between his nodes, from
        0.1 to 10. Beyond, the end slopes go on, and the value is an estimate (see
        `self_capacitance_is_measured`). A coil in a narrow cabinet has more.
    """
    diameter = np.asarray(mean_diameter, dtype=float)
    nodes, values = np.log(_CAPACITANCE_LENGTHS), np.log(_CAPACITANCE)
    place = np.log(np.asarray(length, dtype=float) / diameter)
    below = np.minimum(place - nodes[0], 0.0) * (values[1] - values[0]) / (nodes[1] - nodes[0])
    above = np.maximum(place - nodes[-1], 0.0) * (values[-1] - values[-2]) / (nodes[-1] - nodes[-2])
    return np.asarray(np.exp(np.interp(place, nodes, values) + below + above) * diameter * 1e-10)


def self_capacitance_is_measured(mean_diameter: ArrayLike, length: ArrayLike) -> NDArray[np.bool_]:
    """Tell where `self_capacitance` stands within Medhurst's table (length/diameter 0.1 to 10)."""
    ratio = np.asarray(length, dtype=float) / np.asarray(mean_diameter, dtype=float)
    return np.asarray((ratio >= 0.1 * (1.0 - 1e-9)) & (ratio <= 10.0 * (1.0 + 1e-9)))


def self_resonance(inductance: ArrayLike, capacitance: ArrayLike) -> NDArray[np.float64]:
    """Give the frequency at which an inductance resonates with its self-capacitance.

    Parameters
    ----------
    inductance : array_like
        [H].
    capacitance : array_like
        [F]; 0 gives infinity.

    Returns
    -------
    ndarray
        [Hz], ``1 / (2 pi sqrt(L C))``, broadcast.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / (2.0 * np.pi * np.sqrt(np.asarray(inductance) * np.asarray(capacitance))))
