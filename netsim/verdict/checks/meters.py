"""While tuning with the real tube: the highest voltage of every part, and what plate and grid bear on the way."""

from collections.abc import Iterator

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.verdict.checks.box import grid_rating
from netsim.verdict.checks.parts import effective_rating, rating_key, ratings_of
from netsim.verdict.judged import Check, Judged, NotRated, rated
from netsim.verdict.result import PART_NAMES
from netsim.verdict.solved import Solved


def tuning_voltage(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the peak voltages over all settings, in the one network of each band that is turned through them."""
    if not solved.meters:
        return
    for name in PART_NAMES:
        part, stress = getattr(solved.description.network, name), solved.stress.get(name)
        limit = effective_rating(part, "voltage_rating") if "voltage_rating" in ratings_of(name) else None
        if limit is None or stress is None:
            continue
        value, turned = _nowhere(solved)
        for meters in solved.meters:
            if name in meters.peaks:
                value[meters.row], turned[meters.row] = meters.peaks[name].value, True
        check = Check("part_tuning_voltage", name, "tuning_voltage_peak", "while_tuning")
        yield rated(
            solved, check, value, limit, "V", ("network", name, rating_key(part, "voltage_rating")),
            applies=stress.present & turned, rating="voltage_rating",
        )  # fmt: skip


def tuning_heat(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the heat of the plate over all settings, in the same networks."""
    limit = solved.assembly.stage.dissipation_rating
    if solved.meters and not np.isnan(limit).all():
        value, turned = _nowhere(solved)
        for meters in solved.meters:
            value[meters.row], turned[meters.row] = meters.heat.value, True
        check = Check("plate_dissipation", "stage", "plate_dissipation", "while_tuning")
        applies = turned & ~np.isnan(limit)
        yield rated(solved, check, value, limit, "W", ("stage", "dissipation_rating"), applies=applies)


def tuning_grid(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge current and heat of the grid over all settings, in the same networks, where the law knows them."""
    for code, unit in (("grid_current", "A"), ("grid_dissipation", "W")):
        key, limit = grid_rating(solved, code)
        value, turned = _nowhere(solved)
        for meters in solved.meters:
            highest = meters.grid_current if code == "grid_current" else meters.grid_heat
            if highest is not None:
                value[meters.row], turned[meters.row] = highest.value, True
        applies = turned & ~np.isnan(limit)
        if applies.any():
            check = Check(code, "grid", code, "while_tuning")
            yield rated(solved, check, value, limit, unit, ("stage", key), applies=applies)


def _nowhere(solved: Solved) -> tuple[FloatArray, BoolArray]:
    """Begin with no value, and no network that was turned through its settings."""
    return np.full(len(solved.assembly), np.nan), np.zeros(len(solved.assembly), dtype=np.bool_)
