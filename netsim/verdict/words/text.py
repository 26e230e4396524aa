"""What is said of one finding."""

from typing import NamedTuple

from netsim.description.formatting import format_quantity, percent
from netsim.verdict.judged import Judged
from netsim.verdict.solved import Solved


class Text(NamedTuple):
    """Value against limit, why it is so, and of what is not rated what to add; remedies are the advice's."""

    message: str
    why: str
    add: str = ""


def at(solved: Solved, row: int) -> str:
    """Write a network's frequency."""
    return format_quantity(float(solved.frequency[row]), "Hz")


def label(name: str) -> str:
    """Write a part's name."""
    return name.replace("_", " ")


def against(judged: Judged, row: int, place: str = "") -> str:
    """Write a value and where it is found, its limit and how far it is used."""
    value, limit = written(judged.value[row], judged.unit), written(judged.limit[row], judged.unit)
    return f"{value}{place}, rated {limit} ({percent(judged.used[row])})"


def written(value: float, unit: str, digits: int | None = None) -> str:
    """Write a value with its unit, an estimated frequency with no more digits than it is worth."""
    return format_quantity(float(value), unit, digits=digits)
