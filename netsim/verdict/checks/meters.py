"""While tuning with the real tube: the highest voltage of every part, and the heat of the plate on the way."""

from collections.abc import Iterator

import numpy as np

from netsim.verdict.checks.parts import effective_rating, rating_key, ratings_of
from netsim.verdict.judged import Check, Judged, NotRated, judged
from netsim.verdict.result import PART_NAMES
from netsim.verdict.solved import Solved


def tuning_voltage(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the peak voltages over all settings, in the one network of each band that is turned through them."""
    if not solved.meters:
        return
    close = solved.description.limits.close_to_rating
    for name in PART_NAMES:
        part, stress = getattr(solved.description.network, name), solved.stress.get(name)
        limit = effective_rating(part, "voltage_rating") if "voltage_rating" in ratings_of(name) else None
        if limit is None or stress is None:
            continue
        value = np.full(len(solved.assembly), np.nan)
        for meters in solved.meters:
            if name in meters.peaks:
                value[meters.row] = meters.peaks[name].value
        check = Check("part_tuning_voltage", name, "tuning_voltage_peak", "while_tuning")
        yield judged(
            check, value, limit, "V", value / limit, close, ("network", name, rating_key(part, "voltage_rating")),
            applies=stress.present & ~np.isnan(value), rating="voltage_rating",
        )  # fmt: skip


def tuning_heat(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the heat of the plate over all settings, in the same networks."""
    limit = solved.assembly.stage.dissipation_rating
    if solved.meters and not np.isnan(limit).all():
        value = np.full(len(solved.assembly), np.nan)
        for meters in solved.meters:
            value[meters.row] = meters.heat.value
        check = Check("plate_dissipation", "stage", "plate_dissipation", "while_tuning")
        close = solved.description.limits.close_to_rating
        key = ("stage", "dissipation_rating")
        yield judged(check, value, limit, "W", value / limit, close, key, applies=~np.isnan(value / limit))
