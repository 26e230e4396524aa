"""The amplifier on antennas that are not matched: re-tuned at each, every part's stress, what cannot be matched."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, NamedTuple

import numpy as np

from netsim.circuit.assembly import Assembly
from netsim.circuit.elements import ComplexArray, FloatArray, IndexArray, Termination
from netsim.circuit.peaking import settings
from netsim.circuit.reflection import reflection_of
from netsim.circuit.stage import ORDERS, PlateCurrent
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import BoolArray
from netsim.solvers import batch
from netsim.verdict.band_switch import switch_stress
from netsim.verdict.solved import standing_wave_ratio, tuned
from netsim.verdict.stress import stresses

HARMONIC_SWR = 10.0
"""Worst standing wave ratio that a termination is given at a harmonic, where nobody has matched it."""

SAMPLES = 128
"""Of one period, for peaks; true to 1e-3."""

_MOST = 6000
"""Networks times loads that are solved in one go, which bounds the memory."""

QUANTITIES = ("voltage_peak", "current_rms", "loss", "reactive_power")

TerminationOf = Callable[[IndexArray], Termination]
"""Gives what networks end in, by their indices: all loads of each, those of the first network first."""

PlateCurrentOf = Callable[[ComplexArray, IndexArray], PlateCurrent]
"""Gives what the tube draws at plate impedances of orders 1 to 10, and the networks that they belong to."""


class WorstLoad(NamedTuple):
    """The highest value of each network over its loads, and at which load; shape ``(networks,)``."""

    value: FloatArray
    load: IndexArray


class CheckedAntenna(NamedTuple):
    """A network on one of its antennas that ngspice solved too, and how far apart both are."""

    network: int
    load: int
    worst_relative: float


@dataclass(frozen=True)
class AnyAntenna:
    """All networks on all loads; arrays of shape ``(networks, loads)`` unless said otherwise.

    Attributes
    ----------
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
        Of all orders in the power of the first load, which is the measured antenna where there is one [dBc],
        shape ``(networks, 10)``; minus infinity where none flows, NaN where `unknown`.
    unknown : ndarray of bool
        Orders of which nobody measured what reaches the antenna, shape ``(networks, 10)``.
    worst : mapping of (str, str) to WorstLoad
        By part name and quantity of `Stress`.
    swr : float or None
        Of the outermost circle; None where the antenna was measured.
    checked : tuple of CheckedAntenna
        The worst of each band, where ngspice took part.
    """

    reflection: ComplexArray
    impedance: ComplexArray
    tune: FloatArray
    load: FloatArray
    plate_impedance: ComplexArray
    matched: BoolArray
    plate_swr: FloatArray
    output_power: FloatArray
    plate_dissipation: FloatArray
    level: FloatArray
    unknown: BoolArray
    worst: Mapping[tuple[str, str], WorstLoad]
    swr: float | None = None
    checked: tuple[CheckedAntenna, ...] = ()

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


_JOINED = [entry.name for entry in fields(AnyAntenna) if entry.name not in ("worst", "swr", "checked")]


def on_all_loads(
    assembly: Assembly, termination: TerminationOf, loads: int, swr: float | None, drawn: PlateCurrentOf
) -> AnyAntenna:
    """Solve every network on every load, both capacitors tuned again at each.

    Parameters
    ----------
    assembly : Assembly
        Of ``networks`` networks.
    termination : callable
        What they end in; asked for some networks at a time, which bounds the memory.
    loads : int
        How many loads each network has.
    swr : float or None
        Of the circle they fill, for the record.
    drawn : callable
        What the tube draws.

    Returns
    -------
    AnyAntenna
        Closed-form settings; orders 1 to 10.
    """
    step = max(1, _MOST // loads)
    joined: dict[str, Any] = {}
    worst: dict[tuple[str, str], WorstLoad] = {}
    for start in range(0, len(assembly), step):
        rows = np.arange(start, min(start + step, len(assembly)))
        piece = _piece(assembly, termination(rows), loads, rows, drawn)
        for name in _JOINED:
            values = getattr(piece, name)
            if not start:
                joined[name] = np.empty((len(assembly), *values.shape[1:]), values.dtype)
            joined[name][rows] = values
        for key, (value, load) in piece.worst.items():
            if not start:
                worst[key] = WorstLoad(np.empty(len(assembly)), np.empty(len(assembly), dtype=np.intp))
            worst[key].value[rows], worst[key].load[rows] = value, load
    return AnyAntenna(**joined, worst=worst, swr=swr)


def _piece(
    assembly: Assembly, termination: Termination, loads: int, rows: IndexArray, drawn: PlateCurrentOf
) -> AnyAntenna:
    """Solve some of the networks on all their loads."""
    owner = np.repeat(rows, loads)
    each = replace(assembly.parts.take(owner), termination=termination)
    tune, load, _, _ = settings(each)
    ladder = build_ladder(each, tune, load)
    orders = np.arange(1.0, ORDERS + 1)
    solution = batch.solve(ladder, orders)
    impedance = solution.plate_impedance[:, 0]
    current = drawn(solution.plate_impedance, owner)
    power = (
        (np.abs(solution.branch_current["antenna"]) * np.abs(current.phasors)) ** 2
        * each.antenna_delivery(orders)
        / 2
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        level = 10 * np.log10(power[::loads] / power[::loads, :1])
    supply = assembly.stage.supply_voltage[owner]
    stress = stresses(each, supply, current, ladder, solution, samples=SAMPLES, loads=loads)
    wound = {name: coil and coil.take(rows) for name, coil in assembly.wound.items()}
    stress = {**stress, "band_switch": switch_stress(wound, stress, loads)}
    seen = termination.impedance[:, 0]
    shape = (len(rows), loads)
    return AnyAntenna(
        reflection=reflection_of(seen, each.antenna_resistance).reshape(shape),
        impedance=seen.reshape(shape),
        tune=tune.reshape(shape),
        load=load.reshape(shape),
        plate_impedance=impedance.reshape(shape),
        matched=tuned(impedance, each.plate_load).reshape(shape),
        plate_swr=standing_wave_ratio(impedance, each.plate_load).reshape(shape),
        output_power=power[:, 0].reshape(shape),
        plate_dissipation=current.dissipation.reshape(shape),
        level=level,
        unknown=np.asarray(each.unknown_orders(orders).reshape(*shape, ORDERS).any(axis=1)),
        worst={
            (name, quantity): _worst(getattr(found, quantity).reshape(shape), quantity)
            for name, found in stress.items()
            for quantity in QUANTITIES
        },
    )


def _worst(values: FloatArray, quantity: str) -> WorstLoad:
    """Choose the highest of each network; of peaks those that cannot be it are NaN, else one NaN is the answer."""
    if quantity == "voltage_peak":
        values = np.where(np.isnan(values) & ~np.isnan(values).all(axis=1, keepdims=True), -np.inf, values)
    load = np.argmax(values, axis=1)
    return WorstLoad(np.take_along_axis(values, load[:, np.newaxis], axis=1)[:, 0], load)
