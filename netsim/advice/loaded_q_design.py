"""The coil that gives a target loaded Q, by either definition, with everything else as it is."""

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import BoolArray, edge_between, match
from netsim.description.models.amplifier import Band, Description
from netsim.errors import Problem, UsageError
from netsim.solvers import batch
from netsim.verdict.stress import stored_energy_q

QDefinition = Literal["loaded", "stored-energy"]

MIDDLE_RATIO = 6.0
"""Middle resistance of a pi-L over the antenna's: 300 to 50 ohm, as handbooks have it (common practice)."""

_SCAN, _SPAN = 240, 12.0


@dataclass(frozen=True)
class Matched:
    """A match of every network: settings without limits [F], and the loaded Q, ``(networks,)``; NaN without one."""

    tune: FloatArray
    load: FloatArray
    q: FloatArray


def matched(parts: Parts, definition: QDefinition) -> Matched:
    """Match all networks, of two possible ways the one with more load capacitance."""
    found = match(parts)
    tune, load = found.tune[0], found.load[0]
    if definition == "loaded":
        return Matched(tune, load, loaded_q(parts, tune))
    exists = np.isfinite(tune)
    q = np.full(len(parts), np.nan)
    if exists.any():
        some = parts.take(exists)
        # A negative setting counts as what it stands for: less capacitance at its node.
        extra = {
            "tune_stray": some.tune_stray + np.minimum(tune[exists], 0),
            "load_stray": some.load_stray + np.minimum(load[exists], 0),
        }
        ladder = build_ladder(
            replace(some, **extra), np.maximum(tune[exists], 0), np.maximum(load[exists], 0)
        )
        q[exists] = stored_energy_q(ladder, batch.solve(ladder, np.ones(1)))
    return Matched(tune, load, q)


def middle(band: Band) -> float:
    """Give the geometric mean of a band's lowest and highest frequency [Hz]."""
    return math.sqrt(min(band.frequencies) * max(band.frequencies))


def least_loaded_q(plate_load: float, resistance: float) -> float:
    """Give the least loaded Q of a pi, ``sqrt(R1 / R2 - 1)``: its load capacitor has gone, it is an L."""
    return math.sqrt(max(max(plate_load, resistance) / min(plate_load, resistance) - 1, 0.0))


def demand_possible(target: float, plate_load: float, resistance: float, file: str) -> None:
    """Refuse a target below the least loaded Q.

    Raises
    ------
    UsageError
        ``target_loaded_q_too_low``, with the least possible.
    """
    least = least_loaded_q(plate_load, resistance)
    if target < least:
        raise UsageError(
            Problem(
                "target_loaded_q_too_low",
                f"a network from {plate_load:.4g} ohm to {resistance:.4g} ohm has a loaded Q of "
                f"sqrt(R1/R2 - 1) = {least:.3g} at least; {target:.3g} was asked for: raise target_loaded_q",
                file,
                key="limits.target_loaded_q",
            )
        )


def middle_resistance(plate_load: float, antenna: float) -> float:
    """Give the resistance between the pi and the L of a pi-L [ohm], below the geometric mean of both ends."""
    return min(MIDDLE_RATIO * antenna, math.sqrt(plate_load * antenna)) if plate_load > antenna else antenna


def output_coil(plate_load: float, antenna: float, frequency: float) -> float:
    """Give the output coil of a pi-L [H]: ``X = R sqrt(Rm / R - 1)``, from the middle resistance to R."""
    ratio = middle_resistance(plate_load, antenna) / antenna
    return antenna * math.sqrt(max(ratio - 1, 0.01)) / (2 * math.pi * frequency)


def beyond_coil(description: Description, plate_load: float) -> float:
    """Give the resistance on the far side of the tank coil [ohm]: the antenna's, or of a pi-L the middle one."""
    antenna = description.antenna.resistance
    return middle_resistance(plate_load, antenna) if description.network.topology == "pi-L" else antenna


def first_coil(plate_load: float, resistance: float, target: float, frequency: float) -> float:
    """Give the coil of a lossless pi [H]: a start for the search.

    Notes
    -----
    ``X2 = R2 sqrt((R1/R2) / (Q^2 + 1 - R1/R2))``, ``XL = (Q R1 + R1 R2 / X2) / (Q^2 + 1)``: the handbook's pi.
    """
    ratio = plate_load / resistance
    rest = max(target**2 + 1 - ratio, 1e-3)
    second = resistance * math.sqrt(ratio / rest)
    reactance = (target * plate_load + plate_load * resistance / second) / (target**2 + 1)
    return reactance / (2 * math.pi * frequency)


def coil_for(parts: Parts, target: float, definition: QDefinition) -> FloatArray:
    """Find the coil [H] at which the match of each network has a loaded Q, the capacitors being free.

    NaN where none from a twelfth to twelve times the present coil does.

    Notes
    -----
    The loaded Q of the match with more load capacitance falls as the coil grows. A geometric scan brackets
    the crossing, halving narrows it to rounding; all networks together.
    """
    n = len(parts)
    factor = np.geomspace(1 / _SPAN, _SPAN, _SCAN)
    repeated = parts.take(np.tile(np.arange(n), _SCAN))
    scanned = replace(repeated, coil=repeated.coil * np.repeat(factor, n))
    q = matched(scanned, definition).q.reshape(_SCAN, n)
    with np.errstate(invalid="ignore"):
        crossing = (q[:-1] > target) & ~(q[1:] > target)
    columns, place = np.arange(n), np.argmax(crossing, axis=0)
    low, high = parts.coil * factor[place], parts.coil * factor[place + 1]

    def above(coil: FloatArray) -> BoolArray:
        with np.errstate(invalid="ignore"):
            return np.asarray(matched(replace(parts, coil=coil), definition).q > target)

    low = edge_between(low, high, above)
    good = crossing[place, columns] & np.isclose(
        matched(replace(parts, coil=low), definition).q, target, rtol=1e-6
    )
    return np.where(good, low, np.nan)
