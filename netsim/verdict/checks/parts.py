"""Every part's stress against its ratings."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.verdict.air_gap import gap_voltage
from netsim.verdict.judged import Check, Judged, NotRated, rated
from netsim.verdict.result import PART_NAMES, Case
from netsim.verdict.solved import Solved
from netsim.verdict.stress import Stress


@dataclass(frozen=True)
class Rating:
    """One kind of rating: which key limits which stress.

    Attributes
    ----------
    code, key, quantity, unit : str
        Finding code, key in the file, name of the value in the result, unit.
    amplitude : str
        ``pk`` or ``rms`` where that needs saying, else empty.
    """

    code: str
    key: str
    quantity: str
    unit: str
    amplitude: str
    case: Case = "matched"

    def values(self, stress: Stress) -> FloatArray:
        """Return the stress this rating limits, shape ``(networks,)``."""
        values: FloatArray = getattr(stress, self.quantity)
        return values


RATINGS = (
    Rating("part_voltage", "voltage_rating", "voltage_peak", "V", "pk"),
    Rating("part_unloaded_voltage", "voltage_rating", "unloaded_voltage_peak", "V", "pk", "while_tuning"),
    Rating("part_current", "current_rating", "current_rms", "A", "rms"),
    Rating("part_power", "power_rating", "loss", "W", ""),
    Rating("part_reactive_power", "reactive_power_rating", "reactive_power", "VA", ""),
)
RATING_OF = {rating.code: rating for rating in RATINGS}


def ratings_of(name: str) -> tuple[str, ...]:
    """Return the keys of the ratings that a part can have."""
    if name.endswith(("_capacitor", "_padding")):
        return "voltage_rating", "current_rating", "reactive_power_rating"
    return {
        "suppressor": ("power_rating",),
        "coil": ("current_rating", "power_rating"),
        "output_coil": ("current_rating", "power_rating"),
        "band_switch": ("current_rating", "voltage_rating"),
    }.get(name, ("current_rating",))


def effective_rating(part: object, key: str) -> float | None:
    """Return a part's rating, a capacitor's voltage from its air gap where no maker gave one; None if unknown."""
    rating: float | None = getattr(part, key, None)
    gap = getattr(part, "air_gap", None)
    if key == "voltage_rating" and rating is None and gap is not None:
        altitude = getattr(part, "altitude", None)
        return gap_voltage(gap, 0.0 if altitude is None else altitude)[()]  # type: ignore[return-value]
    return rating


def rating_key(part: object, key: str) -> str:
    """Return the key that holds a rating: the air gap where it follows from one."""
    by_gap = key == "voltage_rating" and getattr(part, key, None) is None
    return "air_gap" if by_gap and getattr(part, "air_gap", None) is not None else key


def ratings(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge every part of the networks against each rating it can have."""
    network = solved.description.network
    for name in PART_NAMES:
        part, stress = getattr(network, name), solved.stress.get(name)
        if stress is None or not stress.present.any() or (part is None and not name.endswith("_padding")):
            continue
        for rating in RATINGS:
            if rating.key not in ratings_of(name):
                continue
            check = Check(rating.code, name, rating.quantity, rating.case)
            limit = effective_rating(part, rating.key)
            if limit is not None:
                duty = solved.assembly.stage.duty if rating.code == "part_power" else np.array(1.0)
                key = ("network", name, rating_key(part, rating.key))
                yield rated(
                    solved, check, rating.values(stress) * duty, limit, rating.unit, key,
                    applies=stress.present, rating=rating.key,
                )  # fmt: skip
            elif rating.case == "matched":
                yield NotRated(check, rating.unit, ("network", name), rating.values(stress), stress.present)
