"""The amplifier on antennas that are not matched: re-tuned at each, every part's stress, what cannot be matched."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import ComplexArray, FloatArray, Termination
from netsim.circuit.parts import Parts
from netsim.circuit.peaking import settings, voltage_limit
from netsim.circuit.stage import ORDERS, Stage
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch
from netsim.verdict.antenna_stress import LoadStress, load_stresses

TUNED = 1e-3
"""Largest distance from the plate load, relative to it, that still counts as matched."""


@dataclass(frozen=True)
class AnyAntenna:
    """All networks on all loads; arrays of shape ``(networks, loads)`` unless said otherwise.

    Attributes
    ----------
    swr : float or None
        Of the outermost circle; None where the antenna was measured.
    reflection : ndarray
        Complex, against the matched resistance.
    impedance : ndarray
        Complex, at the working frequency [ohm].
    tune, load : ndarray
        Settings after re-tuning within the parts' ranges [F].
    plate_impedance : ndarray
        Complex [ohm].
    matched : ndarray of bool
        Whether the plate sees its load.
    plate_swr, output_power, plate_dissipation : ndarray
        Powers in [W].
    level : ndarray
        Of all orders in the antenna's power [dBc], shape ``(networks, loads, 10)``; minus infinity or NaN
        where none flows.
    stress : mapping of str to LoadStress
        By part name.
    """

    swr: float | None
    reflection: ComplexArray
    impedance: ComplexArray
    tune: FloatArray
    load: FloatArray
    plate_impedance: ComplexArray
    matched: npt.NDArray[np.bool_]
    plate_swr: FloatArray
    output_power: FloatArray
    plate_dissipation: FloatArray
    level: FloatArray
    stress: Mapping[str, LoadStress]

    @property
    def unmatched_share(self) -> FloatArray:
        """Share of the disc's area, over its reflection coefficients, that cannot be matched; ``(networks,)``.

        Each load stands for a ring's piece, half of it inside and half of it outside its circle, whose area
        goes with its radius; of the outermost circle's only the inner half lies on the disc.
        """
        weight = np.abs(self.reflection)
        outermost = weight > weight.max(axis=1, keepdims=True) * (1 - 1e-6)
        weight = np.where(outermost, weight / 2, weight)
        weight = np.where(weight.sum(axis=1, keepdims=True) > 0, weight, 1.0)
        return np.asarray((~self.matched * weight).sum(axis=1) / weight.sum(axis=1))


def on_all_loads(
    parts: Parts, stage: Stage, termination: Termination, loads: int, swr: float | None
) -> AnyAntenna:
    """Re-tune and solve every network on every load.

    Parameters
    ----------
    parts : Parts
        Of ``networks`` networks.
    stage : Stage
        Simple stage; the voltage limit applies as ever.
    termination : Termination
        Of ``networks * loads`` rows, the loads of the first network first.
    loads : int
        How many loads each network has.
    swr : float or None
        Of the circle they fill, for the record.

    Returns
    -------
    AnyAntenna
        Closed-form settings; one batch over all loads, orders 1 to 10.
    """
    count = len(parts)
    each = replace(parts.take(np.repeat(np.arange(count), loads)), termination=termination)
    tune, load, _, _ = settings(each)
    ladder = build_ladder(each, tune, load)
    orders = np.arange(1.0, ORDERS + 1)
    solution = batch.solve(ladder, orders)
    impedance = solution.plate_impedance[:, 0]
    scale = voltage_limit(each.plate_load, impedance)
    plate_power = (scale * stage.fundamental_current_peak) ** 2 * impedance.real / 2
    off = np.abs((impedance - each.plate_load) / (impedance + each.plate_load))
    drive = np.abs(scale[:, np.newaxis] * stage.current_peak)
    power = (np.abs(solution.branch_current["antenna"]) * drive) ** 2 * each.antenna_delivery(orders) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        level = 10 * np.log10(power / power[:, :1])
        swr_at_plate = (1 + off) / (1 - off)
    seen = termination.impedance[:, 0]
    shape = (count, loads)
    resistance = each.antenna_resistance
    return AnyAntenna(
        swr=swr,
        reflection=((seen - resistance) / (seen + resistance)).reshape(shape),
        impedance=seen.reshape(shape),
        tune=tune.reshape(shape),
        load=load.reshape(shape),
        plate_impedance=impedance.reshape(shape),
        matched=(np.abs(impedance - each.plate_load) <= TUNED * each.plate_load).reshape(shape),
        plate_swr=swr_at_plate.reshape(shape),
        output_power=power[:, 0].reshape(shape),
        plate_dissipation=stage.dissipation(plate_power, scale).reshape(shape),
        level=level.reshape(*shape, ORDERS),
        stress=load_stresses(each, stage, scale, ladder, solution, shape),
    )
