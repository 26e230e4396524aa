"""Every place where the tap of a band could be, or every coil it could have, tried at all its frequencies."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from netsim.advice.band_changes import Choices, Variant, paddings
from netsim.advice.band_networks import BandNetworks
from netsim.advice.coverage import at_plate_loads, in_reach, stretch
from netsim.advice.loaded_q_design import QDefinition, matched
from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import BoolArray, edge_between, match
from netsim.description.models.amplifier import Band, Description
from netsim.description.reader import Amplifier

_LOADS = 800
LOWEST_LOAD, HIGHEST_LOAD = 50.0, 50e3
"""Plate loads between which a tap is tried [ohm]."""


@dataclass(frozen=True)
class TapSearch:
    """What p places give at the n frequencies of one band; arrays of shape ``(p, n)`` unless said otherwise.

    Attributes
    ----------
    bands, turns : tuple of Band, ndarray
        The band with each place, and the place, shape ``(p,)``; NaN where a coil is given by its inductance.
    inductance : ndarray
        [H].
    tuned : ndarray of bool
        Whether both capacitors match within their ranges.
    loaded_q : ndarray
        Of that match; where it is out of range, of the one that is wanted. NaN without any.
    tune_needed, load_needed : ndarray
        Settings of the same match [F].
    parts : Parts
        Of the n networks with the first place.
    at_points : mapping of str to ndarray of bool
        By operating point that serves the band, like `tuned`.
    """

    bands: tuple[Band, ...]
    turns: FloatArray
    inductance: FloatArray
    tuned: BoolArray
    loaded_q: FloatArray
    tune_needed: FloatArray
    load_needed: FloatArray
    parts: Parts
    at_points: Mapping[str, BoolArray]

    @property
    def serves(self) -> BoolArray:
        """Whether both capacitors match at the stage as it stands and at every operating point, ``(p,)``."""
        return np.asarray(
            np.all([which.all(axis=1) for which in (self.tuned, *self.at_points.values())], axis=0)
        )

    def nearest(self, turns: float) -> int:
        """Return the index of the place nearest to so many turns."""
        return int(np.argmin(np.abs(self.turns - turns)))


def search(
    amplifier: Amplifier,
    description: Description,
    index: int,
    bands: Sequence[Band],
    moving: Sequence[int],
    definition: QDefinition = "loaded",
) -> TapSearch:
    """Match one band, by index, with each of several taps or coils, in closed form.

    Parameters
    ----------
    amplifier, description : Amplifier, Description
        The file, for its lines, and everything else.
    bands : sequence of Band
        The band with each place; settings that it prescribes do not count.
    moving : sequence of int
        Bands, by index, whose contact on the switch goes along.
    definition : {"loaded", "stored-energy"}
        Of the loaded Q.
    """
    sides = (paddings(description, index, side, only_present=True) for side in ("tune", "load"))
    choices = Choices(index, [Variant(band, ()) for band in bands], *sides)
    networks = BandNetworks(amplifier, description, [choices], moving=moving)
    parts = networks.assembly.parts
    tune, load, tuned = in_reach(parts)
    here = networks.rows(0)
    q = loaded_q(parts, tune) if definition == "loaded" else matched(parts, definition).q
    points = enumerate(description.operating_points, start=1)
    return TapSearch(
        tuple(bands),
        np.array([np.nan if band.coil_turns is None else band.coil_turns for band in bands]),
        parts.coil[here],
        tuned[here],
        q[here],
        tune[here],
        load[here],
        parts.take(here[0]),
        {point.name: tuned[rows] for n, point in points if (rows := networks.rows(0, n)).size},
    )


def plate_load_range(parts: Parts) -> tuple[float, float] | None:
    """Find the plate loads that all frequencies of a band can be tuned to with its coils as they are.

    Lowest and highest of the unbroken stretch nearest to the present plate load [ohm]; None without one.

    Notes
    -----
    A geometric scan in steps of 0.9 %, its edges narrowed by halving.
    """
    loads = np.geomspace(LOWEST_LOAD, HIGHEST_LOAD, _LOADS)
    present = float(np.broadcast_to(parts.plate_load, (len(parts),))[0])
    ends = stretch(_serves(parts, loads), loads, present)
    if ends is None:
        return None
    # Both edges at once; a stretch that ends where the scan does has none there to narrow.
    last = np.array(ends)
    beyond = np.clip(last + np.array([-1, 1]), 0, _LOADS - 1)
    low, high = edge_between(loads[last], loads[beyond], lambda tried: _serves(parts, tried))
    return float(low), float(high)


def _serves(parts: Parts, loads: FloatArray) -> BoolArray:
    """Tell which plate loads [ohm] all the networks can be tuned to, shape of `loads`."""
    tried = at_plate_loads(parts, loads)
    within = match(tried).within(tried).any(axis=0)
    return np.asarray(within.reshape(loads.size, len(parts)).all(axis=1))
