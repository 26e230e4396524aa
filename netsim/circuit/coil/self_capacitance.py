"""Self-capacitance of single-layer coils, as R. G. Medhurst measured it.

R. G. Medhurst, "H.F. Resistance and Self-Capacitance of Single-Layer Solenoids", Wireless Engineer 24
(1947), pp. 35 and 80.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Length over diameter, and self-capacitance over diameter [pF/cm], as printed.
_LENGTHS = np.array([0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 3.0, 5.0, 10.0])
_CAPACITANCE = np.array([0.96, 0.70, 0.60, 0.50, 0.47, 0.46, 0.50, 0.61, 0.81, 1.32])


def self_capacitance(mean_diameter: ArrayLike, length: ArrayLike) -> NDArray[np.float64]:
    """Compute the self-capacitance of a single-layer coil with one end at ground.

    Parameters
    ----------
    mean_diameter, length : array_like
        [m], above 0.

    Returns
    -------
    ndarray
        [F], broadcast. Medhurst's ``C = H D``; ln H linear in ln(length/diameter) between his nodes, from
        0.1 to 10. Beyond, the end slopes go on, and the value is an estimate. A coil in a narrow cabinet
        has more.
    """
    diameter = np.asarray(mean_diameter, dtype=float)
    nodes, values = np.log(_LENGTHS), np.log(_CAPACITANCE)
    place = np.log(np.asarray(length, dtype=float) / diameter)
    below = np.minimum(place - nodes[0], 0.0) * (values[1] - values[0]) / (nodes[1] - nodes[0])
    above = np.maximum(place - nodes[-1], 0.0) * (values[-1] - values[-2]) / (nodes[-1] - nodes[-2])
    return np.asarray(np.exp(np.interp(place, nodes, values) + below + above) * diameter * 1e-10)


def self_resonance(inductance: ArrayLike, capacitance: ArrayLike) -> NDArray[np.float64]:
    """Compute the frequency at which an inductance resonates with its self-capacitance.

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
