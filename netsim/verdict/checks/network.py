"""The stage and the network as a whole: dissipation, loaded Q, harmonics, match, reach of the capacitors."""

from collections.abc import Iterator

import numpy as np

from netsim.description.key_path import KeyPath
from netsim.verdict.judged import (
    HARMONIC_MARGIN_DB,
    MATCH_LIMIT,
    Check,
    Judged,
    NotRated,
    fraction_of_level,
    fraction_of_match,
    fraction_of_window,
    highest_level,
    judged,
    of_band,
    rated_where_known,
    strain_of_level,
)
from netsim.verdict.solved import Solved

LEVEL_CLOSE = 10 ** (-HARMONIC_MARGIN_DB / 20)


def dissipation(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the heat of the plate."""
    check = Check("plate_dissipation", "stage", "plate_dissipation")
    value, limit = solved.current.dissipation, solved.assembly.stage.dissipation_rating
    yield rated_where_known(solved, check, value, limit, "W", ("stage", "dissipation_rating"))


def loaded_q(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the loaded Q against its window."""
    limits = solved.description.limits
    low, high = limits.loaded_q
    value = solved.loaded_q
    with np.errstate(invalid="ignore"):
        limit = np.where(value < np.sqrt(low * high), low, high)
    used = fraction_of_window(value, low, high)

    def key(row: int) -> KeyPath:
        band = int(solved.assembly.band_index[row])
        wound = solved.description.bands[band].coil_turns is not None
        return "bands", band, "coil_turns" if wound else "coil"

    yield judged(
        Check("loaded_q", "network", "loaded_q"), value, limit, "1", used, limits.close_to_rating, key
    )


def harmonic_level(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the highest harmonic."""
    limit = solved.description.limits.harmonic_level
    unknown = solved.unknown_orders
    highest, order = highest_level(solved.level, unknown)
    used = fraction_of_level(highest, limit)
    yield judged(
        Check("harmonic_level", "network", "level"), highest, limit, "dB", used, LEVEL_CLOSE,
        ("limits", "harmonic_level"), strain=strain_of_level(used, unknown), order=order, absent=order == 0, apart=used,
    )  # fmt: skip


def plate_match(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the standing wave ratio that the plate sees."""
    close = solved.description.limits.close_to_rating
    check = Check("plate_match", "network", "swr")
    yield judged(check, solved.swr, MATCH_LIMIT, "1", fraction_of_match(solved.swr), close, of_band(solved))


def tuning_range(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge whether both capacitors reach the setting that matches; of settings below nothing the lowest."""
    parts, close = solved.assembly.parts, solved.description.limits.close_to_rating
    for side in ("tune", "load"):
        needed = getattr(solved.settings, f"{side}_needed")
        low, high = (
            np.broadcast_to(getattr(parts, f"{side}_{end}"), needed.shape) for end in ("minimum", "maximum")
        )
        used = fraction_of_window(needed, low, high)
        with np.errstate(invalid="ignore"):
            upper = needed >= np.sqrt(low * high)
        limit = np.where(upper, high, low)
        part = f"{side}_capacitor"

        def key(row: int, part: str = part, upper: np.ndarray = upper) -> KeyPath:
            return "network", part, "maximum" if upper[row] else "minimum"

        apart = np.where(np.isnan(needed), np.inf, -needed)
        yield judged(
            Check("tuning_range", part, side), needed, limit, "F", used, close, key, apart=apart,
            absent=np.isnan(needed),
        )  # fmt: skip


def second_match(solved: Solved) -> Iterator[Judged | NotRated]:
    """Warn where both pairs of settings that match are within reach."""
    found = solved.settings.found
    within = found.within(solved.assembly.parts)
    nothing = np.full(len(solved.assembly), np.nan)
    yield judged(
        Check("second_match", "network", "load"), found.load[1], np.nan, "F", nothing, 0.0, of_band(solved),
        applies=within[0] & within[1], at_most="close",
    )  # fmt: skip
