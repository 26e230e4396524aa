"""The verdict as arrays: every limit of every network at once, with the arithmetic of the findings."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from netsim.analysis.networks import capacitor_settings
from netsim.circuit.assembly import Assembly
from netsim.circuit.elements import FloatArray
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import dip
from netsim.description.reader import Amplifier
from netsim.solvers import batch
from netsim.verdict.judgement import (
    HARMONIC_MARGIN_DB,
    fraction_of_level,
    fraction_of_match,
    fraction_of_range,
    fraction_of_window,
)
from netsim.verdict.ratings import RULES, effective_rating, ratings_of
from netsim.verdict.result import PART_NAMES
from netsim.verdict.solved import Evidence, gather

_SAMPLES = 128
"""Enough for peaks within 1e-3; whatever is proposed is solved again in full."""


_SELF_RESONANCE_SHARE = 1 / 3
"""Of its self-resonance: above this frequency a coil counts as close (common practice)."""


class Check(NamedTuple):
    """What tells a finding from the others of its band."""

    code: str
    part: str
    quantity: str
    case: str


@dataclass(frozen=True)
class Column:
    """One check over all networks.

    Attributes
    ----------
    used : ndarray
        Used fraction, shape ``(networks,)``; infinite where the findings have none and count as over,
        zero where the network does not have the part.
    close : float
        Fraction above which it counts as close.
    rating : str or None
        Key of the rating that is the limit, if it is one that another part could have higher.
    limit : float
        The limit, in SI; one where it is not a rating.
    """

    used: FloatArray
    close: float
    rating: str | None = None
    limit: float = 1.0


def solve(amplifier: Amplifier, assembly: Assembly) -> Evidence:
    """Tune and solve networks in numpy alone: the same numbers as a study, without its cross-check.

    Parameters
    ----------
    amplifier : Amplifier
        Gives the ratings and limits.
    assembly : Assembly
        Of any number of networks; its parts may differ from the description's.
    """
    parts = assembly.parts
    stand = capacitor_settings(assembly)
    ladder = build_ladder(parts, stand.tune, stand.load)
    dipped = dip(parts, stand.load, antenna_connected=False)
    open_ladder = build_ladder(parts, dipped, stand.load, antenna_connected=False)
    loaded = batch.solve(ladder, np.arange(1.0, ORDERS + 1))
    unloaded = batch.solve(open_ladder, np.ones(1))
    return gather(amplifier, assembly, stand, ladder, loaded, unloaded, _SAMPLES)


def score(evidence: Evidence) -> Mapping[Check, Column]:
    """Hold every network against every limit.

    Parameters
    ----------
    evidence : Evidence
        Of ``networks`` networks.

    Returns
    -------
    mapping of Check to Column
        All findings that can be over or close, except those that no network decides: resonances of the
        choke, DC on the antenna, the second match.
    """
    return dict([*_ratings(evidence), *_limits(evidence), *_reach(evidence), *_coils(evidence)])


def _ratings(evidence: Evidence) -> Iterator[tuple[Check, Column]]:
    network = evidence.amplifier.description.network
    close = evidence.amplifier.description.limits.close_to_rating
    for name in PART_NAMES:
        part, stress = getattr(network, name), evidence.stress.get(name)
        if part is None or stress is None:
            continue
        for rule in RULES:
            rating = effective_rating(part, rule.rating) if rule.rating in ratings_of(name) else None
            if rating is not None:
                duty = evidence.amplifier.description.stage.duty if rule.code == "part_power" else 1.0
                used = np.where(stress.present, rule.values(stress) * duty / rating, 0.0)
                check = Check(rule.code, name, rule.quantity, rule.case)
                yield check, Column(used, close, rule.rating, rating)


def _limits(evidence: Evidence) -> Iterator[tuple[Check, Column]]:
    description = evidence.amplifier.description
    limits, close = description.limits, description.limits.close_to_rating
    rating = description.stage.dissipation_rating
    if rating is not None:
        used = evidence.plate_dissipation / rating
        yield Check("plate_dissipation", "stage", "plate_dissipation", "matched"), Column(used, close)
    window = _counted(fraction_of_window(evidence.loaded_q, *limits.loaded_q))
    yield Check("loaded_q", "network", "loaded_q", "matched"), Column(window, close)
    levels = np.where(np.isnan(evidence.level), -np.inf, evidence.level)[:, 1:].max(axis=1)
    level = fraction_of_level(levels, limits.harmonic_level)
    margin = 10 ** (-HARMONIC_MARGIN_DB / 20)
    yield Check("harmonic_level", "network", "level", "matched"), Column(level, margin)
    swr = _counted(fraction_of_match(evidence.swr))
    yield Check("plate_match", "network", "swr", "matched"), Column(swr, close)


def _reach(evidence: Evidence) -> Iterator[tuple[Check, Column]]:
    close = evidence.amplifier.description.limits.close_to_rating
    parts = evidence.assembly.parts
    for quantity in ("tune", "load"):
        needed = getattr(evidence.settings, f"{quantity}_needed")
        ends = (getattr(parts, f"{quantity}_{end}") for end in ("minimum", "maximum"))
        used = _counted(fraction_of_range(needed, *ends))
        yield Check("tuning_range", f"{quantity}_capacitor", quantity, "matched"), Column(used, close)


def _coils(evidence: Evidence) -> Iterator[tuple[Check, Column]]:
    for name, wound in evidence.assembly.wound.items():
        if wound is None:
            continue
        for quantity, resonance in (
            ("self_resonance", wound.tapped.self_resonance),
            ("open_turns_resonance", wound.tapped.free_end_resonance),
        ):
            used = evidence.frequency / wound.spread(resonance, np.inf)
            yield Check("self_resonance", name, quantity, "matched"), Column(used, _SELF_RESONANCE_SHARE)


def _counted(used: FloatArray) -> FloatArray:
    """Count what has no fraction as worse than any number."""
    return np.where(np.isnan(used), np.inf, used)
