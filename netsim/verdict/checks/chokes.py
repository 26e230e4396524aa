"""What feeds and guards the network: plate choke, blocking capacitor, output choke."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from netsim.circuit.choke import choke_reactance as reactance_of
from netsim.circuit.choke import first_series_resonance
from netsim.description.key_path import KeyPath
from netsim.description.models.coils import PlainWinding
from netsim.verdict.judged import Check, Judged, NotRated, judged
from netsim.verdict.solved import Solved

NEAR_RESONANCE = 0.1
"""A series resonance this close to a band, relative to its edges, is worth a warning."""

AT_RESONANCE = 0.03
"""This close it is in the band: a listed frequency has no width, and no reading of a resonance is closer."""

_CLOSE = 0.5
"""Between what is near and what is inside, in the strain of a resonance."""


def choke_reactance(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the plate choke's reactance, self-capacitance across it, against the plate load; close at most."""
    choke = solved.description.network.plate_choke
    if choke is not None:
        parts = solved.assembly.parts
        reactance = np.abs(reactance_of(choke.inductance, parts.plate_choke_capacitance, solved.frequency))
        check = Check("choke_reactance", "plate_choke", "reactance")
        key = ("network", "plate_choke", "inductance")
        close = solved.description.limits.close_to_rating
        used = parts.plate_load / reactance
        at_resonance = np.isinf(reactance)
        yield judged(
            check, reactance, parts.plate_load, "ohm", used, close, key, at_most="close", absent=at_resonance
        )


def choke_resonance(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the plate choke's series resonances against the frequencies of each band.

    What was measured may be over. What a winding lets guess is close at most: wherever the band is not below all
    that the first resonance can be, for above the first there are more.
    """
    choke = solved.description.network.plate_choke
    if choke is None:
        return
    check = Check("choke_resonance", "plate_choke", "resonance")
    every = np.ones(len(solved.assembly), dtype=np.bool_)
    nothing = np.full(len(solved.assembly), np.nan)
    low, high = (np.empty(len(solved.assembly)) for _ in range(2))
    for point in solved.points():
        for _, _, rows in solved.bands(point):
            low[rows], high[rows] = solved.frequency[rows].min(), solved.frequency[rows].max()
    if not choke.series_resonances:
        if choke.winding is None:
            yield NotRated(check, "Hz", ("network", "plate_choke"), nothing, every)
            return
        guess = guessed_resonance(choke.winding)
        reached = high * (1 + NEAR_RESONANCE) >= guess.low
        yield judged(
            check, np.full(len(high), guess.estimate), high, "Hz", nothing, _CLOSE,
            ("network", "plate_choke", "winding"), strain=np.where(reached, 1.0, 0.0), apart=solved.frequency,
            at_most="close",
        )  # fmt: skip
        return
    resonances = np.array(choke.series_resonances)[:, np.newaxis]
    distance = np.maximum(0.0, np.maximum((low - resonances) / low, (resonances - high) / high))
    nearest = np.argmin(distance, axis=0)
    away = distance[nearest, np.arange(len(low))]
    value = resonances[nearest, 0]
    strain = np.where(away <= AT_RESONANCE, np.inf, np.where(away <= NEAR_RESONANCE, 1.0, 0.0))

    def key(row: int) -> KeyPath:
        return "network", "plate_choke", "series_resonances", int(nearest[row])

    # The network nearest to the resonance stands for its band.
    off = -np.abs(solved.frequency - np.clip(value, low, high))
    yield judged(
        check, value, np.where(value <= low, low, high), "Hz", nothing, _CLOSE, key, strain=strain, apart=off
    )


class Guess(NamedTuple):
    """Where a choke's first series resonance may lie [Hz]."""

    estimate: float
    low: float
    high: float


def guessed_resonance(winding: PlainWinding) -> Guess:
    """Return what the winding lets guess of the first series resonance."""
    return Guess(*(float(f) for f in first_series_resonance(winding.turns, winding.diameter, winding.length)))


def antenna_dc(solved: Solved) -> Iterator[Judged | NotRated]:
    """Tell that nothing keeps the plate supply off the antenna."""
    if solved.description.network.blocking_capacitor is None:
        nothing = np.full(len(solved.assembly), np.nan)
        check = Check("antenna_dc", "network", "dc_voltage")
        supply = solved.assembly.stage.supply_voltage
        yield judged(check, supply, 0.0, "V", nothing, 1.0, ("network",))


def output_choke(solved: Solved) -> Iterator[Judged | NotRated]:
    """Tell that nothing holds the antenna at ground if the blocking capacitor fails."""
    if solved.description.network.output_choke is None:
        every = np.ones(len(solved.assembly), dtype=np.bool_)
        check = Check("output_choke", "network", "presence")
        yield NotRated(check, "1", ("network",), np.full(len(every), np.nan), every)
