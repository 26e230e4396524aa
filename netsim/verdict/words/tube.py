"""The tube against the stage."""

import math

from netsim.verdict.checks.tube import APART
from netsim.verdict.judged import Judged
from netsim.verdict.solved import Solved
from netsim.verdict.words.text import Text, at, written

_NOUNS = {
    "plate_current": "plate current",
    "output": "output",
    "plate_dissipation": "plate heat",
    "drive_voltage_peak": "peak drive",
    "conduction_angle": "conduction angle",
}


def disagreement(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what the tube settles at against what the stage implies."""
    quantity = judged.check.quantity
    if quantity == "connection":
        return Text(
            f"[stage] has {written(judged.value[row], 'V')} of drive in series with the plate, "
            "[tube] a grounded cathode",
            "only in grounded grid does the drive stand in series with the plate circuit",
        )
    value, wanted = float(judged.value[row]), float(judged.limit[row])
    shown = tuple(
        f"{math.degrees(v):.0f} deg" if quantity == "conduction_angle" else written(v, judged.unit)
        for v in (value, wanted)
    )
    return Text(
        f"{_NOUNS[quantity]}: the tube settles at {shown[0]} at {at(solved, row)}, [stage] implies {shown[1]} "
        f"({value / wanted - 1:+.0%})",
        "every rating is judged on the tube's steady state; what [stage] says is what was wanted of it; "
        f"more than {APART:.0%} apart one of the two is wrong",
    )
