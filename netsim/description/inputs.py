"""What is known only within limits: written in the file, or assumed for what the file leaves out."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import Any, Literal

from pydantic import BaseModel, ValidationError

from netsim.description.assumed import assumed_values
from netsim.description.file_format import measure
from netsim.description.formatting import format_quantity
from netsim.description.key_path import KeyPath, printed_key
from netsim.description.limited import Limited, has_limits
from netsim.description.models.amplifier import Description
from netsim.description.models.tables import with_value
from netsim.description.quantity import Measure
from netsim.errors import DescriptionError, Problem

Side = Literal["low", "high"]
_SIDES: tuple[Side, Side] = ("low", "high")
_HALVINGS = 40
_BETWEEN = 0.7310585786300049
"""Some share that takes no round value to another."""
_NOTHING = 1e-4
"""Share of the limits that were given, below which nothing is left of them."""
_NETWORK_BESIDE_BANDS = ("minimum", "maximum", "turns")


@dataclass(frozen=True)
class Input:
    """A quantity with limits. One key is one unknown, on all bands.

    Attributes
    ----------
    key : str
        As results print it, such as ``network.tune_capacitor.stray``.
    path : tuple of str or int
        The same for `with_value`.
    line : int
        Of the key, or of the table that lacks it.
    nominal, low, high : float
        Value and limits in ``unit``, between which every value is equally likely, or of the logarithm.
    unit : str
        SI unit, ``rad``, ``degC``, or ``1`` for a plain number.
    source : {"file", "assumed"}
        Whether the limits stand in the file or are typical ones.
    note : str
        What was cut off the limits of the file, and by which rule; empty as a rule.
    """

    key: str
    path: KeyPath
    line: int
    nominal: float
    low: float
    high: float
    unit: str
    source: Literal["file", "assumed"]
    note: str = ""

    @property
    def logarithmic(self) -> bool:
        """Whether the logarithm is drawn evenly: of assumed limits nearer to one ratio than one distance."""
        if self.source == "file" or self.low <= 0:
            return False
        ratio, distance = (self.low * self.high) ** 0.5, (self.low + self.high) / 2
        return bool(abs(self.nominal - ratio) < abs(self.nominal - distance))


def inputs_of_file(table: dict[str, Any], description: Description, line: Callable[..., int]) -> list[Input]:
    """Return what the file gives with limits, in the order of the file.

    Parameters
    ----------
    table : dict
        As the file says it.
    description : Description
        The same, checked.
    line : callable
        Gives the line of a path, taken apart into arguments.

    Raises
    ------
    DescriptionError
        ``limits_leave_nothing`` where a rule of the format admits the value alone; without file and place.

    Notes
    -----
    Limits beyond the plausible range end there. Where a rule between two keys would be turned over, as by a
    minimum above a maximum, both end where they meet, by the same share of what each was given.
    """
    given, found = [], []
    for path, kind, limits in _written(table):
        unit = {"deg": "rad"}.get(kind.unit, kind.unit)
        entry = Input(printed_key(path, description), path, line(*path), *limits, unit, "file")
        given.append(entry.high - entry.low)
        found.append(_plausible(entry, kind))
    for chosen in (*((n,) for n in range(len(found))), *_pairs(found)):
        for sides in product(_SIDES, repeat=len(chosen)):
            corner = [(n, side) for n, side in zip(chosen, sides, strict=True)]
            found = _cut(found, corner, description)
    for entry, width in zip(found, given, strict=True):
        if entry.high - entry.low < _NOTHING * width:
            raise DescriptionError(
                Problem("limits_leave_nothing", f"no limits can stand here: {entry.note}", key=entry.key)
            )
    return found


def inputs_assumed(description: Description, line: Callable[..., int]) -> list[Input]:
    """Return what the file leaves out and typical values with limits stand in for."""
    return [
        Input(printed_key(a.path, description), a.path, line(*a.path), *a[1:], "assumed")
        for a in assumed_values(description)
    ]


def _written(table: dict[str, Any]) -> Iterator[tuple[KeyPath, Measure, Limited]]:
    pending: list[tuple[KeyPath, Any]] = [((), table)]
    while pending:
        path, value = pending.pop(0)
        if isinstance(value, dict):
            pending[:0] = [((*path, key), inner) for key, inner in value.items()]
        elif isinstance(value, list):
            pending[:0] = [((*path, n), inner) for n, inner in enumerate(value)]
        elif isinstance(value, str) and has_limits(value) and (kind := measure(path)) is not None:
            limits = kind.limits_of(value)
            if limits.low < limits.high:
                yield path, kind, limits


def _plausible(entry: Input, kind: Measure) -> Input:
    least, most = kind.plausible
    low, high = max(entry.low, least), min(entry.high, most)
    if (low, high) == (entry.low, entry.high):
        return entry
    return replace(entry, low=low, high=high, note=f"the limits end at the plausible range, {kind.range}")


_BESIDE_BANDS = {
    "tune": ("network", "tune_capacitor"),
    "load": ("network", "load_capacitor"),
    "coil_turns": ("network", "coil"),
    "output_coil_turns": ("network", "output_coil"),
}
_SEPARATE = {
    "network": 2,
    "bands": 2,
    "operating_points": 2,
    "measured": 2,
    "meters": 2,
    "tube": 3,
    "cooling": 3,
}


def _pairs(found: Sequence[Input]) -> Iterator[tuple[int, int]]:
    """Go through the pairs that one rule of the format can hold together."""
    for (n, one), (m, other) in combinations(enumerate(found), 2):
        across = {one.path[0], other.path[0]} == {"stage", "operating_points"}
        if across or _group(one.path) == _group(other.path) or _meet(one, other) or _meet(other, one):
            yield n, m


def _group(path: KeyPath) -> KeyPath:
    """Return the table, with the tables in it, whose rules hold a key and others together."""
    return path[: _SEPARATE.get(str(path[0]), 1)]


def _meet(band: Input, part: Input) -> bool:
    """Tell whether a band's setting or tap stands against the range or the turns of a part."""
    if band.path[0] != "bands":
        return False
    key = next(step for step in reversed(band.path) if isinstance(step, str))
    return part.path[:2] == _BESIDE_BANDS.get(key) and part.path[-1] in _NETWORK_BESIDE_BANDS


def _cut(found: list[Input], corner: Sequence[tuple[int, Side]], description: Description) -> list[Input]:
    """Draw one limit, or two together, back to where the rules hold."""

    def reached(share: float) -> list[tuple[Input, float]]:
        return [
            (found[n], found[n].nominal + share * (getattr(found[n], side) - found[n].nominal))
            for n, side in corner
        ]

    broken = _broken(reached(1.0), description)
    halvings = _HALVINGS
    if broken is None and len(corner) == 1:  # whole numbers may stand among others that will not do
        broken, halvings = _broken(reached(_BETWEEN), description), 0
    if broken is None:
        return found
    good, bad = 0.0, 1.0
    for _ in range(halvings):
        middle = (good + bad) / 2
        good, bad = (middle, bad) if _broken(reached(middle), description) is None else (good, middle)
    found = list(found)
    for (n, side), (entry, value) in zip(corner, reached(good), strict=True):
        shown = format_quantity(value, "deg" if entry.unit == "rad" else entry.unit)
        note = f"the {side} limit ends at {shown}: {broken}"
        low, high = (value, entry.high) if side == "low" else (entry.low, value)
        found[n] = replace(entry, low=low, high=high, note=f"{entry.note}; {note}" if entry.note else note)
    return found


def _broken(values: Sequence[tuple[Input, float]], description: Description) -> str | None:
    """Return the rule that values break together; None if they keep all."""
    groups = {_group(entry.path) for entry, _ in values}
    # A pair within a table is held by that table's rules, one across tables by those of the whole.
    least, most = (0, 99) if len(values) == 1 else (len(groups.pop()), 99) if len(groups) == 1 else (0, 0)
    for entry, value in values:
        description = with_value(description, entry.path, value)
    models: dict[int, BaseModel] = {}
    for entry, _ in values:
        here: Any = description
        for depth, step in enumerate(entry.path):
            if isinstance(here, BaseModel) and least <= depth <= most:
                models[id(here)] = here
            here = here[step] if isinstance(step, int) else getattr(here, step)
    for model in reversed(models.values()):
        try:
            type(model).model_validate({key: getattr(model, key) for key in model.model_fields_set})
        except ValidationError as error:
            return str(error.errors(include_url=False, include_input=False)[0]["msg"])
    return None
