"""What every part carries on every load of many networks, and where it is worst."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.stage import Stage
from netsim.solvers.solution import Solution
from netsim.verdict.placement import across, placements
from netsim.verdict.stress import heat, peak, presence, reactive_power_of

SAMPLES = 128
"""Of one period, for peaks; true to 1e-3."""


@dataclass(frozen=True)
class LoadStress:
    """Of one part; arrays of shape ``(networks, loads)``.

    Attributes
    ----------
    present : ndarray of bool
        Whether the network has the part, shape ``(networks,)``.
    current_rms, loss, reactive_power : ndarray
        [A], [W], [VA]; reactive power is NaN for what is not a capacitor.
    voltage_peak : ndarray
        [V], DC included; NaN at loads where it cannot be the highest of its network.
    """

    present: npt.NDArray[np.bool_]
    current_rms: FloatArray
    loss: FloatArray
    reactive_power: FloatArray
    voltage_peak: FloatArray

    def worst_load(self, quantity: str) -> npt.NDArray[np.intp]:
        """Find the load at which a quantity is highest, shape ``(networks,)``."""
        values = getattr(self, quantity)
        return np.asarray(np.argmax(np.where(np.isnan(values), -np.inf, values), axis=1))


def load_stresses(
    parts: Parts,
    stage: Stage,
    scale: FloatArray,
    ladder: Ladder,
    solution: Solution,
    shape: tuple[int, int],
) -> Mapping[str, LoadStress]:
    """Work out what every part carries.

    Parameters
    ----------
    parts, ladder, solution
        Of ``networks * loads`` networks, orders 1 to 10, 1 A into the plate.
    stage : Stage
        Gives the plate current's spectrum and the supply.
    scale : ndarray
        Voltage limit's factor, shape ``(networks * loads,)``.
    shape : tuple of int
        Networks and loads.

    Returns
    -------
    mapping of str to LoadStress
        By part name; no band switch.
    """
    drive = -scale[:, np.newaxis] * stage.current_peak
    found = {}
    for name, place in placements(parts).items():
        branch = ladder[place.branch]
        voltage = across(branch, solution) * drive
        current = solution.branch_current[place.branch] * drive
        square = (current.real**2 + current.imag**2).sum(axis=1) / 2
        if place.carries_plate_current:
            square = square + (scale * stage.direct_current) ** 2
        found[name] = LoadStress(
            present=presence(branch, len(parts)).reshape(shape)[:, 0],
            current_rms=np.sqrt(square).reshape(shape),
            loss=heat(branch, current, voltage, solution.orders).reshape(shape),
            reactive_power=reactive_power_of(branch, current, ladder.frequency, solution.orders).reshape(
                shape
            ),
            voltage_peak=_highest(voltage, stage.supply_voltage if place.holds_supply else 0.0, shape),
        )
    return found


def _highest(voltage: ComplexArray, direct: float, shape: tuple[int, int]) -> FloatArray:
    """Peaks of those loads that can be the worst of their network; NaN at all others.

    A wave's peak lies between the fundamental's less and plus the sum of all harmonics', so most loads are
    ruled out without computing a wave.
    """
    size = np.abs(voltage)
    harmonics = size[:, 1:].sum(axis=1)
    least, most = (size[:, 0] - harmonics).reshape(shape), (size[:, 0] + harmonics).reshape(shape)
    possible = (most >= least.max(axis=1, keepdims=True)).ravel()
    peaks = np.full(len(voltage), np.nan)
    peaks[possible] = peak(voltage[possible], direct, SAMPLES)
    return peaks.reshape(shape)
