"""Wound coils."""

import numpy as np

from netsim.verdict.checks.coils import THIRD
from netsim.verdict.heat import AMBIENT_CELSIUS
from netsim.verdict.judged import Judged, NotRated
from netsim.verdict.solved import Solved
from netsim.verdict.words.text import Text, at, label, written
from netsim.verdict.wound_coils import HotSpot, hottest


def self_resonance(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the frequency against the self-resonance."""
    active = judged.check.quantity == "self_resonance"
    return Text(
        f"{label(judged.check.part)}: {at(solved, row)} against a self-resonance of its "
        f"{'turns in use' if active else 'open turns'} near {written(THIRD * judged.limit[row], 'Hz', 3)}",
        "1 / (2 pi sqrt(L C)) with Medhurst's self-capacitance; from a third of it on the capacitance "
        "raises inductance and loss beyond what is computed here, and the voltage of open turns climbs",
    )


def tube_wall(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the wall against two skin depths."""
    wall, needed = written(judged.value[row], "m"), written(judged.limit[row], "m")
    number = judged.check.quantity.rpartition("_")[2]
    return Text(
        f"{label(judged.check.part)}: wall of section {number} {wall} at {at(solved, row)}, "
        f"two skin depths are {needed}",
        "below about two skin depths the current fills the wall and the resistance is more than "
        "that of solid wire, which is what is computed",
    )


def temperature(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the estimated temperature against what the coil withstands."""
    name, spot = judged.check.part, _hottest(solved, judged.check.part, row)
    found = spot.temperature
    return Text(
        f"{label(name)}: estimated at {found.middle:.0f} °C ({found.low:.0f} to {found.high:.0f}) at "
        f"{at(solved, row)}, rated {judged.limit[row]:g} °C",
        _why(spot),
    )


def temperature_not_rated(solved: Solved, unrated: NotRated) -> Text:
    """Tell that the coil has no temperature rating, and the estimate."""
    name, row = unrated.check.part, unrated.worst
    spot = _hottest(solved, name, row)
    found = spot.temperature
    return Text(
        f"{label(name)}: no temperature rating in the file, so not judged",
        f"estimated at {found.middle:.0f} °C ({found.low:.0f} to {found.high:.0f}) at {at(solved, row)}; {_why(spot)}",
        f'add temperature_rating = "..." under [network.{name}]: what former, joints and solder bear',
    )


def _why(spot: HotSpot) -> str:
    average = "" if spot.duty == 1.0 else f" averaged over a duty of {spot.duty:g}"
    return (
        f"{written(spot.loss, 'W')}{average} in {spot.turns:.3g} {spot.what}, free convection and radiation into "
        f"still air at {AMBIENT_CELSIUS:g} °C, without what leads, switch and cabinet take; the spread is from "
        "bare tarnished turns to a bright closed cylinder"
    )


def _hottest(solved: Solved, name: str, row: int) -> HotSpot:
    wound = solved.assembly.wound[name]
    assert wound is not None
    (spot,) = hottest(solved, wound, name, np.array([row]))
    assert spot is not None  # judged only where there is one
    return spot
