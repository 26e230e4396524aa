"""Any antenna: the worst of every part over all loads, what cannot be matched, harmonics."""

from collections.abc import Iterator

import numpy as np

from netsim.verdict.any_antenna import QUANTITIES
from netsim.verdict.checks.network import LEVEL_CLOSE
from netsim.verdict.checks.parts import RATINGS, effective_rating, rating_key, ratings_of
from netsim.verdict.judged import (
    MATCH_LIMIT,
    Check,
    Judged,
    NotRated,
    fraction_of_level,
    fraction_of_match,
    highest_level,
    judged,
    of_band,
    rated,
    strain_of_level,
)
from netsim.verdict.result import PART_NAMES
from netsim.verdict.solved import Solved


def ratings(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge every part at its worst antenna against the ratings that the file gives."""
    found = solved.any_antenna
    if found is None:
        return
    for name in PART_NAMES:
        part, stress = getattr(solved.description.network, name), solved.stress.get(name)
        if part is None or stress is None:
            continue
        for rating in RATINGS:
            limit = effective_rating(part, rating.key) if rating.key in ratings_of(name) else None
            if limit is None or rating.quantity not in QUANTITIES:
                continue
            worst = found.worst[name, rating.quantity]
            duty = solved.assembly.stage.duty if rating.code == "part_power" else np.array(1.0)
            yield rated(
                solved, Check(rating.code, name, rating.quantity, "any_antenna"), worst.value * duty, limit,
                rating.unit, ("network", name, rating_key(part, rating.key)),
                applies=stress.present, rating=rating.key, load=worst.load,
            )  # fmt: skip


def dissipation(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the heat of the plate at its worst antenna."""
    found, limit = solved.any_antenna, solved.assembly.stage.dissipation_rating
    if found is not None and not np.isnan(limit).all():
        load = np.argmax(found.plate_dissipation, axis=1)
        value = found.plate_dissipation[np.arange(len(load)), load]
        yield rated(
            solved, Check("plate_dissipation", "stage", "plate_dissipation", "any_antenna"), value, limit, "W",
            ("stage", "dissipation_rating"),
            applies=~np.isnan(limit), load=load,
        )  # fmt: skip


def plate_match(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the antenna that is matched worst, both capacitors tuned again within their ranges."""
    found = solved.any_antenna
    if found is None:
        return
    load = np.argmax(np.where(np.isnan(found.plate_swr), np.inf, found.plate_swr), axis=1)
    swr = found.plate_swr[np.arange(len(load)), load]
    check, close = (
        Check("plate_match", "network", "swr", "any_antenna"),
        solved.description.limits.close_to_rating,
    )
    used = fraction_of_match(swr)
    used = np.where(np.isfinite(used), used, np.nan)
    yield judged(check, swr, MATCH_LIMIT, "1", used, close, of_band(solved), load=load)


def harmonics(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the harmonics: into the measured antenna, else the spread over terminations that nobody knows."""
    found, limit = solved.any_antenna, solved.description.limits.harmonic_level
    if found is None:
        return
    key = ("limits", "harmonic_level")
    if solved.harmonic_spread is None:
        highest, order = highest_level(found.level, found.unknown)
        used = fraction_of_level(highest, limit)
        yield judged(
            Check("harmonic_level", "network", "level", "any_antenna"), highest, limit, "dB", used, LEVEL_CLOSE,
            key, strain=strain_of_level(used, found.unknown), order=order, absent=order == 0, apart=used,
        )  # fmt: skip
        return
    unknown = solved.unknown_orders
    highest, order = highest_level(solved.level + solved.harmonic_spread[..., 1], unknown)
    strain = strain_of_level(fraction_of_level(highest, limit), unknown, 2.0)
    reported = np.where(np.isfinite(highest) & (highest <= limit), fraction_of_level(highest, limit), np.nan)
    yield judged(
        Check("harmonic_spread", "network", "level", "any_antenna"), highest, limit, "dB", reported, 1.0,
        key, strain=strain, at_most="close", order=order, absent=order == 0, apart=highest,
    )  # fmt: skip
