"""What can be done to one band alone: other coils or taps, other paddings, settings given free."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from netsim.advice.fix.change import Edit, Move, plain_edit, quantity_edit, removal, written
from netsim.circuit.elements import FloatArray
from netsim.description.models.amplifier import Band, Description

_SETTINGS: tuple[Literal["tune"], Literal["load"]] = ("tune", "load")
_COIL_STEP, _COIL_STEPS = 1.05, range(-14, 21)
_TURN_STEPS = 24
_OUTPUT_COIL_FACTORS = (1.0, 0.7, 0.8, 0.9, 1.1, 1.25, 1.4)


@dataclass(frozen=True)
class Variant:
    """A band with another coil, tap or output coil, or with its settings given free.

    Attributes
    ----------
    band : Band
        As it would be; paddings unchanged.
    moves : tuple of Move
        What makes it so; none for the band as it stands.
    """

    band: Band
    moves: tuple[Move, ...]

    @property
    def weight(self) -> int:
        """Sum of the moves' weights."""
        return sum(move.weight for move in self.moves)


@dataclass(frozen=True)
class Paddings:
    """The paddings a band can have on one side; the present one first.

    Attributes
    ----------
    values : ndarray
        [F], zero for none.
    moves : tuple of (Move or None)
        What makes each so; None for the present one.
    """

    values: FloatArray
    moves: tuple[Move | None, ...]


def tidy(value: float) -> float:
    """Round to a value somebody would wind: 0.05 steps below twice a power of ten, else 0.1 steps."""
    scale = 10.0 ** math.floor(math.log10(value))
    step = 0.05 if value / scale < 2 else 0.1
    return float(f"{round(value / scale / step) * step * scale:.6g}")


def variants(description: Description, index: int, *, coils: Sequence[float] | None = None) -> list[Variant]:
    """List the variants of a band, the present one first.

    Parameters
    ----------
    description : Description
        With the band.
    index : int
        Which band.
    coils : sequence of float, optional
        Coils to try [H]; by default steps of 5 % from half to 2.6 times the present one, or every tap
        within 24 tap steps where the band counts in turns.
    """
    band = description.bands[index]
    free = _freed(band, index)
    found = [Variant(band, ())]
    if free.moves:
        found.append(free)
    found += _tank_variants(description, index, free, coils)
    if description.network.topology == "pi-L" and band.output_coil is not None:
        found += [
            joined
            for base in list(found)
            for joined in _output_variants(base if base.band.tune is None else free, index)
        ]
    return list({_identity(variant): variant for variant in reversed(found)}.values())[::-1]


def _identity(variant: Variant) -> tuple[object, ...]:
    band = variant.band
    return band.coil, band.coil_turns, band.output_coil, band.tune


def _freed(band: Band, index: int) -> Variant:
    """Free the band of prescribed settings, so that it is tuned at every frequency."""
    if band.tune is None or band.load is None:
        return Variant(band, ())
    edits = tuple(removal(("bands", index, key)) for key in ("tune", "load"))
    tune, load = (_listed(band.settings(key)) for key in _SETTINGS)
    title = f"tune at each frequency instead of {tune} and {load}"
    move = Move("setting", f"bands[{index}].tune", band.name, title, edits)
    return Variant(band.model_copy(update={"tune": None, "load": None}), (move,))


def _listed(settings: Sequence[float | None]) -> str:
    return ", ".join(dict.fromkeys(written(value, "F") for value in settings if value is not None))


def _tank_variants(
    description: Description, index: int, free: Variant, coils: Sequence[float] | None
) -> list[Variant]:
    band = free.band
    if band.coil_turns is not None:
        return [
            _changed(
                free, index, "coil_turns", (plain_edit(("bands", index, "coil_turns"), turns),), "coil tap"
            )
            for turns in _taps(description, band.coil_turns)
        ]
    present = band.coil
    if present is None:
        return []
    wanted = [present * _COIL_STEP**k for k in _COIL_STEPS] if coils is None else list(coils)
    edits = [quantity_edit(("bands", index, "coil"), tidy(value), "H") for value in wanted]
    unlike = {edit.value: edit for edit in edits if not math.isclose(edit.value, present, rel_tol=1e-6)}
    return [_changed(free, index, "coil", (edit,), "coil") for edit in unlike.values()]


def _taps(description: Description, present: float) -> list[float]:
    coil = description.network.coil
    steps = [float(f"{present + coil.tap_step * k:.6g}") for k in range(-_TURN_STEPS, _TURN_STEPS + 1) if k]
    return [turns for turns in steps if coil.tap_step <= turns <= coil.turns]


def _output_variants(base: Variant, index: int) -> list[Variant]:
    present = base.band.output_coil
    assert present is not None
    found = []
    for factor in _OUTPUT_COIL_FACTORS[1:]:
        edit = quantity_edit(("bands", index, "output_coil"), tidy(present * factor), "H")
        if edit.value != present:
            found.append(_changed(base, index, "output_coil", (edit,), "output coil"))
    return found


def _changed(base: Variant, index: int, key: str, edits: tuple[Edit, ...], noun: str) -> Variant:
    before, after = getattr(base.band, key), edits[0].value
    unit = "" if key.endswith("turns") else "H"
    now, then = (f"{v:g} turns" if not unit else written(v, unit) for v in (before, after))
    title = f"{noun} {then} instead of {now}"
    move = Move("tap", f"bands[{index}].{key}", base.band.name, title, edits)
    return replace(base, band=base.band.model_copy(update={key: after}), moves=(*base.moves, move))


def paddings(
    description: Description, index: int, side: str, stock: Sequence[float] | None = None
) -> Paddings:
    """List the paddings of a band on one side: the present one, none, and the stock.

    Parameters
    ----------
    description : Description
        With the band, and the stock in its limits.
    index : int
        Which band.
    side : str
        ``tune`` or ``load``.
    stock : sequence of float, optional
        [F], instead of the file's.
    """
    key = f"{side}_padding"
    band = description.bands[index]
    present = getattr(band, key) or 0.0
    values = [present]
    moves: list[Move | None] = [None]
    listed = description.limits.padding_stock if stock is None else stock
    for value in dict.fromkeys((0.0, *listed)):
        if math.isclose(value, present, rel_tol=1e-6, abs_tol=1e-16):
            continue
        edit = (
            quantity_edit(("bands", index, key), value, "F", 4) if value else removal(("bands", index, key))
        )
        then = f"{written(value, 'F')} of {side} padding" if value else f"no {side} padding"
        now = written(present, "F") if present else "none"
        values.append(edit.value or 0.0)
        moves.append(Move("padding", f"bands[{index}].{key}", band.name, f"{then} instead of {now}", (edit,)))
    return Paddings(np.array(values), tuple(moves))
