"""Another insulator of the heat path: picofarads that the highest band wins against kelvins that the anode loses."""

import numpy as np

from netsim.advice.change import Change, Edit, applied, plain_edit, quantity_edit, written
from netsim.circuit.assembly import heat_path
from netsim.circuit.box.heat_path import HeatItem, added_capacitance
from netsim.circuit.box.materials import MATERIALS
from netsim.verdict.solved import Solved

THICKER = (1.5, 2.0, 3.0)
"""Times the thickness that there is."""

LESS_PERMITTIVE = ("boron nitride", "aluminium nitride", "alumina")
"""In the order of permittivity; beryllia is not proposed, for its dust, nor mica, which is for thin sheets."""


def insulators(solved: Solved) -> list[Change]:
    """Return insulators that add less capacitance from plate to chassis, each with what it costs in kelvins.

    Nothing without a heat path, or where no insulator counts in it.
    """
    items = heat_path(solved.description)
    found: list[Change] = []
    for place, item in enumerate(items):
        if not item.electrical or item.thickness is None or not added_capacitance(items):
            continue
        path = ("cooling", "path", place)
        for times in THICKER:
            edit = quantity_edit((*path, "thickness"), times * item.thickness, "m")
            words = f"{edit.text} of {item.name} instead of {written(item.thickness, 'm')}"
            found += _told(solved, place, words, edit)
        for material in _lower(item):
            edit = plain_edit((*path, "material"), material)
            found += _told(solved, place, f"{material} instead of {item.material} as {item.name}", edit)
    return found


def _lower(item: HeatItem) -> tuple[str, ...]:
    """Materials of less permittivity than an item has, if it has one of the table."""
    span = None if item.material is None else MATERIALS[item.material].permittivity
    spans = {name: MATERIALS[name].permittivity for name in LESS_PERMITTIVE}
    return tuple(
        name for name, other in spans.items() if span and other and other.usual < span.usual * (1 - 1e-9)
    )


def _told(solved: Solved, place: int, words: str, edit: Edit) -> list[Change]:
    """Say how many picofarads and kelvins, at the heat of the best match; nothing where no capacitance is won."""
    other = applied(solved.description, (edit,))
    fewer = added_capacitance(heat_path(solved.description)) - added_capacitance(heat_path(other))
    if fewer <= 0:
        return []
    row = int(np.argmin(solved.swr))
    heat = np.array(solved.current.dissipation[row] * solved.assembly.stage.duty[row])
    ambient = 0.0 if solved.description.cooling is None else solved.description.cooling.ambient
    then, now = (
        float(heat_path(description)[place].rise(heat, ambient))
        for description in (other, solved.description)
    )
    title = f"{words} ({written(fewer, 'F', 2)} less from plate to chassis, {then - now:+.0f} K at the anode)"
    return [Change("part", f"cooling.path[{place}]", None, title, (edit,))]
