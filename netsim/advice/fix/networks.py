"""One set of parts tried with everything that can be done to the bands: solved in batch, judged in arrays."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from netsim.advice.fix.array_verdict import Check, Column, score, solve
from netsim.advice.fix.band_changes import Paddings, Variant
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import BoolArray, match
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier

IntArray = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Choices:
    """What can be done to one band.

    Attributes
    ----------
    index : int
        Which band.
    variants : list of Variant
        The present one first.
    tune, load : Paddings
        Of either side, the present one first.
    """

    index: int
    variants: list[Variant]
    tune: Paddings
    load: Paddings

    @cached_property
    def weight(self) -> IntArray:
        """Of every combination, shape ``(variants, tune paddings, load paddings)``."""
        tune, load = (
            np.array([0 if move is None else move.weight for move in side.moves])
            for side in (self.tune, self.load)
        )
        of_variant = np.array([variant.weight for variant in self.variants])
        return np.asarray(of_variant[:, None, None] + tune[None, :, None] + load[None, None, :])


@dataclass(frozen=True)
class Picks:
    """Combinations chosen out of the choices of several bands, in parallel arrays of one length.

    Attributes
    ----------
    band : ndarray of int
        Position in the list of choices.
    variant, tune, load : ndarray of int
        Positions in that band's lists.
    """

    band: IntArray
    variant: IntArray
    tune: IntArray
    load: IntArray

    def __len__(self) -> int:
        return len(self.band)

    @classmethod
    def joined(cls, several: Sequence["Picks"]) -> "Picks":
        """Put several together."""
        names = ("band", "variant", "tune", "load")
        return cls(*(np.concatenate([getattr(picks, name) for picks in several]) for name in names))


@dataclass(frozen=True)
class Verdict:
    """How picked combinations come out, over all frequencies and operating points of their bands.

    Attributes
    ----------
    used : mapping of Check to ndarray
        Worst used fraction of each pick, shape ``(picks,)``.
    columns : mapping of Check to Column
        Where each check's limit comes from.
    loaded_q : ndarray
        Lowest of each pick.
    """

    used: Mapping[Check, FloatArray]
    columns: Mapping[Check, Column]
    loaded_q: FloatArray


class Trial:
    """An amplifier with given parts, and all that can be done to its bands."""

    def __init__(
        self,
        amplifier: Amplifier,
        description: Description,
        choices: Sequence[Choices],
        like: "Trial | None" = None,
    ) -> None:
        self.description = description
        self.choices = list(choices)
        variants = tuple(variant.band for choice in choices for variant in choice.variants)
        self._first = np.cumsum([0, *(len(choice.variants) for choice in choices)])
        described = description.model_copy(update={"bands": variants, "operating_points": ()})
        names = [description.bands[choice.index].name for choice in choices for _ in choice.variants]
        self._amplifier = amplifier
        self._points: list[tuple[Description, Assembly]] = []
        for point in (None, *description.operating_points):
            stage = described.stage if point is None else point.of(described.stage)
            there = described.model_copy(update={"stage": stage})
            served = [n for n, name in enumerate(names) if point is None or point.serves(name)]
            if not served:
                continue
            if like is None:
                switch = amplifier.description.bands
                self._points.append(
                    (there, assemble(amplifier, there, bands=served, points=False, switch=switch))
                )
            else:
                known = like._points[len(self._points)][1]
                self._points.append((there, _with_parts_of(known, amplifier, there)))

    def _rows(self, assembly: Assembly) -> tuple[IntArray, IntArray]:
        """First row and number of rows of every variant; none where the point does not serve its band."""
        count = np.bincount(assembly.band_index, minlength=int(self._first[-1]))
        # Variants stand in order, so do their rows.
        return np.cumsum(count) - count, count

    def feasible(self) -> list[BoolArray]:
        """Tell which combinations match within range at a permitted loaded Q, at every point.

        Returns
        -------
        list of ndarray of bool
            For each band, shape ``(variants, tune paddings, load paddings)``. A combination that is False
            here is over for certain; prescribed settings are not looked at.

        Notes
        -----
        A padding takes capacitance over from the variable part and leaves the match as it is, so one match
        of each variant decides about all its paddings.
        """
        possible = [np.ones(choice.weight.shape, dtype=bool) for choice in self.choices]
        for described, assembly in self._points:
            low, high = described.limits.loaded_q
            parts = assembly.parts
            found = match(parts)
            with np.errstate(invalid="ignore"):
                q = np.stack([loaded_q(parts, tune) for tune in found.tune])
                permitted = (q >= low) & (q <= high)
            first, count = self._rows(assembly)
            for number, choice in enumerate(self.choices):
                flat = int(self._first[number])
                if not count[flat]:
                    continue
                # All variants of a band have the same frequencies.
                shape = 2, len(choice.variants), int(count[flat])
                rows = slice(int(first[flat]), int(first[flat]) + shape[1] * shape[2])
                tune = _within(parts, "tune", found.tune + parts.tune_padding, choice.tune, rows, shape)
                load = _within(parts, "load", found.load + parts.load_padding, choice.load, rows, shape)
                allowed = permitted[:, rows].reshape(shape)[..., None, None]
                inside = tune[..., :, None] & load[..., None, :]
                fits = np.where(inside[0], allowed[0], inside[1] & allowed[1])
                possible[number] &= fits.all(axis=1)
        return possible

    def judge(self, picks: Picks) -> Verdict:
        """Solve picked combinations at every point and take the worst of each."""
        flat = self._first[picks.band] + picks.variant
        tune = self._values("tune", picks)
        load = self._values("load", picks)
        used: dict[Check, FloatArray] = {}
        columns: dict[Check, Column] = {}
        lowest = np.full(len(picks), np.inf)
        for described, assembly in self._points:
            first, count = self._rows(assembly)
            served = np.flatnonzero(count[flat] > 0)
            if not served.size:
                continue
            lengths = count[flat[served]]
            starts = np.cumsum(lengths) - lengths
            rows = np.repeat(first[flat[served]] - starts, lengths) + np.arange(lengths.sum())
            owner = np.repeat(served, lengths)
            chosen = _taken(assembly, rows, owner)
            parts = replace(chosen.parts, tune_padding=tune[owner], load_padding=load[owner])
            solved = solve(self._amplifier, described, replace(chosen, parts=parts))
            lowest[served] = np.minimum(lowest[served], np.minimum.reduceat(solved.loaded_q, starts))
            for check, column in score(solved).items():
                worst = np.zeros(len(picks))
                worst[served] = np.maximum.reduceat(column.used, starts)
                used[check] = np.maximum(used[check], worst) if check in used else worst
                columns.setdefault(check, column)
        return Verdict(used, columns, lowest)

    def _values(self, side: str, picks: Picks) -> FloatArray:
        lists = [getattr(choice, side).values for choice in self.choices]
        offset = np.cumsum([0, *(len(values) for values in lists)])
        verdict: FloatArray = np.concatenate(lists)[offset[picks.band] + getattr(picks, side)]
        return verdict


def _within(
    parts: Parts, side: str, total: FloatArray, paddings: Paddings, rows: slice, shape: tuple[int, int, int]
) -> BoolArray:
    """Tell where the variable part reaches what each padding leaves of the total, padding as last axis."""
    least, most = (
        np.broadcast_to(getattr(parts, f"{side}_{end}"), (len(parts),))[rows].reshape(shape[1:])[..., None]
        for end in ("minimum", "maximum")
    )
    setting = total[:, rows].reshape(shape)[..., None] - paddings.values
    with np.errstate(invalid="ignore"):
        return np.asarray((setting >= least) & (setting <= most))


def _with_parts_of(known: Assembly, amplifier: Amplifier, description: Description) -> Assembly:
    """Put what all networks share in an assembly: working out hundreds of coils anew takes long."""
    # Any band will do; one that has no winding to be worked out.
    plain = {"coil": 1e-6, "coil_turns": None, "output_coil": 1e-6, "output_coil_turns": None}
    band = description.bands[0].model_copy(update=plain)
    other = assemble(amplifier, description.model_copy(update={"bands": (band,)}), points=False).take(
        np.zeros(len(known), dtype=np.intp)
    )
    coils = ("coil", "coil_q", "coil_capacitance", "output_coil", "output_coil_q", "output_coil_capacitance")
    kept = ("frequency", *coils, "coupling", "tune_padding", "load_padding")
    mine = {name: getattr(known.parts, name) for name in kept}
    return replace(known, stage=other.stage, parts=replace(other.parts, **mine))


def _taken(assembly: Assembly, rows: IntArray, owner: IntArray) -> Assembly:
    """Choose networks of an assembly, each for its owner."""
    return replace(assembly.take(rows), band_index=owner)
