"""What can be done to one band alone: other coils or taps, other paddings, settings given free."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from netsim.advice.change import WEIGHTS, Change, Edit, plain_edit, quantity_edit, removal, written
from netsim.advice.loaded_q_design import beyond_coil, first_coil, middle
from netsim.advice.preferred_values import stocked, tidy
from netsim.circuit.coil.winding import Winding
from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.elements import FloatArray, IndexArray
from netsim.description.models.amplifier import Band, Description
from netsim.description.models.keys import MOST_TAPS

_SETTINGS: tuple[Literal["tune"], Literal["load"]] = ("tune", "load")
_COIL_STEP, _COIL_STEPS, _AROUND = 1.05, range(-14, 21), range(-7, 11)
_OUTPUT_COIL_FACTORS = (0.7, 0.8, 0.9, 1.1, 1.25, 1.4)
_OUTPUT_TURN_STEPS = (-8, -4, -2, -1, 1, 2, 4, 8)
_FEW = 60
"""Places of a tap that tell which of all are in reach."""

_WHOLE = 1e-6

Wound = Mapping[str, WoundCoil | None]


@dataclass(frozen=True)
class Variant:
    """A band with another coil, tap or output coil, or with its settings given free; paddings unchanged.

    ``changes`` make it so; none for the band as it stands.
    """

    band: Band
    changes: tuple[Change, ...]

    @property
    def weight(self) -> int:
        """Sum of the changes' weights."""
        return sum(change.weight for change in self.changes)


@dataclass(frozen=True)
class Paddings:
    """The paddings that a band, by index and name, can have on one side, ``tune`` or ``load``; the present one first.

    ``pieces`` tells what each is put together from [F]; nothing for none.
    """

    side: str
    index: int
    band: str
    pieces: tuple[tuple[float, ...], ...]

    @cached_property
    def values(self) -> FloatArray:
        """Of each [F], zero for none."""
        return np.array([sum(some) for some in self.pieces])

    @cached_property
    def weight(self) -> IndexArray:
        """What each counts: every piece once."""
        counts = [WEIGHTS["padding"] * max(len(some), 1) for some in self.pieces]
        return np.array([0, *counts[1:]], dtype=np.intp)

    def change(self, place: int) -> Change | None:
        """Return what makes one of them so; None for the present one."""
        if not place:
            return None
        key, some = f"{self.side}_padding", self.pieces[place]
        path = ("bands", self.index, key)
        value, present = sum(some), sum(self.pieces[0])
        edit = quantity_edit(path, value, "F", 4) if some else removal(path)
        then = f"{written(value, 'F', 4)} of {self.side} padding" if some else f"no {self.side} padding"
        if len(some) > 1:
            *others, last = (written(piece, "F", 4) for piece in some)
            then += f" ({', '.join(others)} and {last} in parallel)"
        now = written(present, "F", 4) if present else "none"
        title = f"{then} instead of {now}"
        return Change("padding", f"bands[{self.index}].{key}", self.band, title, (edit,), max(len(some), 1))


@dataclass(frozen=True)
class Choices:
    """All that can be done to one band, by index: its variants and paddings, the present ones first."""

    index: int
    variants: list[Variant]
    tune: Paddings
    load: Paddings

    @cached_property
    def weight(self) -> IndexArray:
        """Of every combination, shape ``(variants, tune paddings, load paddings)``."""
        of_variant = np.array([variant.weight for variant in self.variants])
        return np.asarray(of_variant[:, None, None] + self.tune.weight[:, None] + self.load.weight)


def choices_of(
    description: Description, wound: Wound, plate_load: float, bands: Sequence[int] | None = None
) -> list[Choices]:
    """Return what can be done to each band, or to some by index.

    Of a description with its windings, as an assembly has them, and the plate load of its stage as it stands [ohm].
    """
    return [
        Choices(
            index,
            variants(description, index, wound, plate_load),
            *(paddings(description, index, side) for side in ("tune", "load")),
        )
        for index in (range(len(description.bands)) if bands is None else bands)
    ]


def as_it_stands(description: Description, bands: Sequence[int] | None = None) -> list[Choices]:
    """Return choices that leave every band as it is."""
    return [
        Choices(
            index,
            [Variant(description.bands[index], ())],
            *(paddings(description, index, side, only_present=True) for side in ("tune", "load")),
        )
        for index in (range(len(description.bands)) if bands is None else bands)
    ]


def variants(
    description: Description,
    index: int,
    wound: Wound,
    plate_load: float | None = None,
    *,
    coils: Sequence[float] | None = None,
) -> list[Variant]:
    """Return the variants of a band, the present one first.

    Parameters
    ----------
    description, index : Description, int
        With the band, and which it is.
    wound : mapping of str to WoundCoil or None
        The windings on which a band counts in turns.
    plate_load : float, optional
        Of the stage [ohm]; with it a coil far from the one that it wants gets the coils around that one, too.
    coils : sequence of float, optional
        Coils to try [H]; by default steps of 5 % from half to 2.6 times the present one, or every tap with
        as much inductance where the band counts in turns.
    """
    band = description.bands[index]
    present = Variant(band, ())
    free = _freed(band, index)
    found = [present] if free is present else [present, free]
    found += _coil_variants(description, index, free, wound, plate_load, coils)
    if description.network.topology == "pi-L":
        found += [
            other
            for base in list(found)
            for other in _output_variants(description, index, base if base.band.tune is None else free, wound)
        ]
    return list({_identity(variant): variant for variant in reversed(found)}.values())[::-1]


def _identity(variant: Variant) -> tuple[object, ...]:
    band = variant.band
    return band.coil, band.coil_turns, band.output_coil, band.output_coil_turns, band.tune


def _freed(band: Band, index: int) -> Variant:
    """Free the band of prescribed settings, so that it is tuned at every frequency."""
    if band.tune is None or band.load is None:
        return Variant(band, ())
    edits = tuple(removal(("bands", index, key)) for key in ("tune", "load"))
    tune, load = (_listed(band.settings(key)) for key in _SETTINGS)
    title = f"tune at each frequency instead of {tune} and {load}"
    change = Change("setting", f"bands[{index}].tune", band.name, title, edits)
    return Variant(band.model_copy(update={"tune": None, "load": None}), (change,))


def _listed(settings: Sequence[float | None]) -> str:
    return ", ".join(dict.fromkeys(written(value, "F") for value in settings if value is not None))


def _coil_variants(
    description: Description,
    index: int,
    free: Variant,
    wound: Wound,
    plate_load: float | None,
    coils: Sequence[float] | None,
) -> list[Variant]:
    band, coil = free.band, wound["coil"]
    if band.coil_turns is not None:
        assert coil is not None  # what the turns are counted on
        step, contacts = description.network.coil.tap_step, description.network.coil.taps
        near = near_places(coil, step, band.coil_turns, band.frequencies[0])
        if len(contacts) >= MOST_TAPS and _sharing(description, index, "coil_turns", band.coil_turns):
            # The present contact stays for the others, and there is no room for one more.
            near = [turns for turns in near if turns in contacts]
        return [_turned(description, free, index, "coil_turns", turns) for turns in near]
    if band.coil is None:
        return []
    wanted = [band.coil * _COIL_STEP**k for k in _COIL_STEPS] if coils is None else list(coils)
    if plate_load is not None and coils is None:
        designed = _designed(description, band, plate_load)
        if not wanted[0] <= designed <= wanted[-1]:
            wanted += [designed * _COIL_STEP**k for k in _AROUND]
    edits = [quantity_edit(("bands", index, "coil"), tidy(value), "H") for value in wanted]
    unlike = {edit.value: edit for edit in edits if not math.isclose(edit.value, band.coil, rel_tol=1e-6)}
    return [_changed(free, index, "coil", edit) for edit in unlike.values()]


def _designed(description: Description, band: Band, plate_load: float) -> float:
    """Coil of a lossless network for the target loaded Q in the middle of the band [H]."""
    resistance = beyond_coil(description, plate_load)
    return first_coil(plate_load, resistance, description.limits.target_loaded_q, middle(band))


def places(winding: Winding, step: float, present: FloatArray) -> FloatArray:
    """Return the places that a tap can have, rising, by the finest step worth naming [turns]; present ones are kept.

    Multiples of the step, on a toroid whole turns of its own, or none where shorted turns would take its inductance
    away, and the far end.
    """
    count = int(np.floor(winding.turns / step * (1 + 1e-12)))
    grid = np.arange(1, count + 1) * step
    for start, toroid in winding.toroids:
        grid = grid[(grid <= start) | (grid >= start + toroid.turns)]
        within = np.array([]) if winding.has_loops else np.arange(1, round(toroid.turns))
        ends = [place for place in (start, start + toroid.turns) if place > 0.0]
        grid = np.concatenate([grid, ends, start + within])
    every = np.sort(np.concatenate([grid, [winding.turns], present]))
    apart = np.diff(every, prepend=-1.0) > _WHOLE
    return np.asarray(every[apart])


def near_places(wound: WoundCoil, step: float, present: float, frequency: float) -> list[float]:
    """Return the places of a tap with half to 2.6 times the inductance that the present one has, without it."""
    every = places(wound.winding, step, np.array([present]))
    here = int(np.argmin(np.abs(every - present)))
    least, most = (_COIL_STEP**k for k in (_COIL_STEPS[0], _COIL_STEPS[-1]))
    # On a long coil most places are out of reach: first a few of them, then all between those in reach.
    few = np.unique([*range(0, len(every), -(-len(every) // _FEW)), here, len(every) - 1])
    rough = wound.at(every[few], np.full(len(few), frequency)).inductance
    ratio = rough / rough[np.searchsorted(few, here)]
    within = np.flatnonzero((ratio >= least) & (ratio <= most))
    every = every[few[max(within[0] - 1, 0)] : few[min(within[-1] + 1, len(few) - 1)] + 1]
    inductance = wound.at(every, np.full(len(every), frequency)).inductance
    ratio = inductance / inductance[np.argmin(np.abs(every - present))]
    chosen = every[(ratio >= least) & (ratio <= most) & (np.abs(every - present) > _WHOLE)]
    return [float(f"{place:.6g}") for place in chosen]


def _output_variants(description: Description, index: int, base: Variant, wound: Wound) -> list[Variant]:
    band, coil = base.band, wound["output_coil"]
    if band.output_coil is not None:
        edits = [
            quantity_edit(("bands", index, "output_coil"), tidy(band.output_coil * factor), "H")
            for factor in _OUTPUT_COIL_FACTORS
        ]
        return [
            _changed(base, index, "output_coil", edit) for edit in edits if edit.value != band.output_coil
        ]
    if coil is None or band.output_coil_turns is None or description.network.output_coil is None:
        return []
    step = description.network.output_coil.tap_step
    every = places(coil.winding, step, np.array([band.output_coil_turns]))
    here = int(np.argmin(np.abs(every - band.output_coil_turns)))
    near = [here + k for k in _OUTPUT_TURN_STEPS if 0 <= here + k < len(every)]
    return [_turned(description, base, index, "output_coil_turns", float(f"{every[n]:.6g}")) for n in near]


def _turned(description: Description, base: Variant, index: int, key: str, turns: float) -> Variant:
    present = getattr(base.band, key)
    shared = _sharing(description, index, key, present)
    found = _changed(base, index, key, plain_edit(("bands", index, key), turns))
    if not shared or key != "coil_turns":
        return found
    change = replace(
        found.changes[-1], title=f"{found.changes[-1].title}, no longer that of {', '.join(shared)}"
    )
    return replace(found, changes=(*found.changes[:-1], change))


def _sharing(description: Description, index: int, key: str, present: float) -> list[str]:
    """Name the other bands with the same place of the tap."""
    return [b.name for n, b in enumerate(description.bands) if n != index and getattr(b, key) == present]


def _changed(base: Variant, index: int, key: str, edit: Edit) -> Variant:
    before, after = getattr(base.band, key), edit.value
    turns = key.endswith("turns")
    now, then = (f"{v:g} turns" if turns else written(v, "H") for v in (before, after))
    noun = key.removesuffix("_turns").replace("_", " ") + (" tap" if turns else "")
    change = Change(
        "tap", f"bands[{index}].{key}", base.band.name, f"{noun} {then} instead of {now}", (edit,)
    )
    return replace(base, band=base.band.model_copy(update={key: after}), changes=(*base.changes, change))


def paddings(
    description: Description,
    index: int,
    side: str,
    stock: Sequence[float] | None = None,
    *,
    only_present: bool = False,
) -> Paddings:
    """Return the paddings of a band on one side: the present one, none, and the stock [F], by default the file's.

    Two or three pieces in parallel fill gaps of the stock and go beyond its largest; each counts.
    """
    band = description.bands[index]
    present = getattr(band, f"{side}_padding") or 0.0
    listed = description.limits.padding_stock if stock is None else stock
    found: list[tuple[float, ...]] = [(present,) if present else ()]
    if not only_present:
        every = [(), *stocked(listed)]
        found += [some for some in every if not math.isclose(sum(some), present, rel_tol=1e-6, abs_tol=1e-16)]
    return Paddings(side, index, band.name, tuple(found))
