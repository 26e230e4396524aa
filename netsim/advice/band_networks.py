"""Bands with given parts, and all that can be done to them: matched in closed form, solved in batch, judged."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.band_changes import Choices, Paddings, as_it_stands
from netsim.advice.change import Change
from netsim.advice.outcome import Outcome, outcome_of
from netsim.analysis.analysis import asks_for_more
from netsim.analysis.networks import solve_in_numpy
from netsim.analysis.plate_source import PlateSource
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import FloatArray, IndexArray
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import BoolArray, match
from netsim.description.assumed import TYPICAL
from netsim.description.models.amplifier import Band, Description
from netsim.description.models.capacitors import Padding
from netsim.description.reader import Amplifier
from netsim.verdict.checks import BY_NETWORK
from netsim.verdict.checks.every import ALL
from netsim.verdict.solved import Settings, Solved


@dataclass(frozen=True)
class Picks:
    """Combinations chosen out of the choices of several bands, in parallel arrays of one length.

    ``band`` is a position in the list of choices, the others are positions in that band's lists.
    """

    band: IndexArray
    variant: IndexArray
    tune: IndexArray
    load: IndexArray

    def __len__(self) -> int:
        return len(self.band)

    @classmethod
    def joined(cls, several: Sequence["Picks"]) -> "Picks":
        """Return several put together."""
        names = ("band", "variant", "tune", "load")
        return cls(*(np.concatenate([getattr(picks, name) for picks in several]) for name in names))

    def take(self, index: IndexArray | BoolArray) -> "Picks":
        """Return some of them."""
        return Picks(self.band[index], self.variant[index], self.tune[index], self.load[index])


def as_they_stand(bands: int) -> Picks:
    """Return one pick for each band: as it is."""
    zero = np.zeros(bands, dtype=np.intp)
    return Picks(np.arange(bands), zero, zero, zero)


class BandNetworks:
    """Bands of an amplifier with given parts, and all variants of them assembled once.

    Parameters
    ----------
    amplifier, description : Amplifier, Description
        The file, for its lines and the files that it names, and the parts that are tried.
    choices : sequence of Choices
        What can be done to each of the bands.
    like : BandNetworks, optional
        Of the same choices with other parts: its windings are taken over.
    moving : sequence of int, optional
        Bands, by index, whose present contact on the switch is none while taps are tried, as it goes along; by
        default that of the only band.

    Raises
    ------
    DescriptionError
        If the stage cannot run so.
    """

    def __init__(
        self,
        amplifier: Amplifier,
        description: Description,
        choices: Sequence[Choices],
        like: "BandNetworks | None" = None,
        moving: Sequence[int] | None = None,
    ) -> None:
        self.description, self.choices = description, list(choices)
        self._amplifier = amplifier
        self._bands = tuple(variant.band for choice in choices for variant in choice.variants)
        self._first = np.cumsum([0, *(len(choice.variants) for choice in choices)])
        if moving is None:
            moving = [choices[0].index] if len(choices) == 1 else []
        described, switch = _without_contacts(description, moving)
        described = _with_paddings(described.model_copy(update={"bands": self._bands}))
        known = None if like is None else like.assembly
        self.assembly: Assembly = assemble(amplifier, described, switch=switch, like=known)
        _ = PlateSource(amplifier, self.assembly, described).tube  # raises where no bias or drive would do
        self._start, self._count = self._blocks()

    @classmethod
    def standing(
        cls,
        amplifier: Amplifier,
        description: Description,
        bands: Sequence[int] | None = None,
        like: "BandNetworks | None" = None,
    ) -> "BandNetworks":
        """Assemble bands as a description has them, all by default."""
        return cls(amplifier, description, as_it_stands(description, bands), like, moving=())

    def _blocks(self) -> tuple[IndexArray, IndexArray]:
        """First network and number of networks of every variant at every point; none where it is not served."""
        columns = len(self._bands)
        shape = len(self.description.operating_points) + 1, columns
        group = self.assembly.point_index * columns + self.assembly.band_index
        count = np.bincount(group, minlength=shape[0] * columns)
        return (np.cumsum(count) - count).reshape(shape), count.reshape(shape)

    def rows(self, number: int, point: int = 0) -> IndexArray:
        """Return the networks of a band's variants at an operating point, shape ``(variants, frequencies)``."""
        flat, variants = int(self._first[number]), len(self.choices[number].variants)
        start, each = int(self._start[point, flat]), int(self._count[point, flat])
        # All variants of a band have the same frequencies, and stand in order.
        return start + np.arange(variants * each).reshape(variants, each)

    def too_hot(self, number: int) -> int:
        """Return at how many operating points a band's plate is beyond its dissipation rating at its plate load."""
        stage = self.assembly.stage
        feed = stage.fundamental_current_peak * stage.drive_voltage_peak / 2
        if self.description.tube is not None:  # the tube settles elsewhere
            return 0
        over = stage.input_power + feed - stage.plate_power > stage.dissipation_rating
        blocks = [self.rows(number, point) for point in range(len(self._start))]
        return sum(bool(over[block].any()) for block in blocks if block.size)

    def feasible(self) -> list[BoolArray]:
        """Tell which combinations match within range at a permitted loaded Q, at every point.

        For each band of shape ``(variants, tune paddings, load paddings)``. A combination that is False here is over
        for certain; prescribed settings are not looked at.

        Notes
        -----
        A padding takes capacitance over from the variable part and leaves the match as it is, so one match
        of each variant decides about all its paddings.
        """
        low, high = self.description.limits.loaded_q
        parts = self.assembly.parts
        found = match(parts)
        with np.errstate(invalid="ignore"):
            q = np.stack([loaded_q(parts, tune) for tune in found.tune])
            permitted = (q >= low) & (q <= high)
        possible = []
        for number, choice in enumerate(self.choices):
            fits = np.ones(choice.weight.shape, dtype=np.bool_)
            for point in range(len(self._start)):
                block = self.rows(number, point)
                if not block.size:
                    continue
                rows, shape = slice(int(block[0, 0]), int(block[-1, -1]) + 1), (2, *block.shape)
                tune = _within(parts, "tune", found.tune + parts.tune_padding, choice.tune, rows, shape)
                load = _within(parts, "load", found.load + parts.load_padding, choice.load, rows, shape)
                allowed = permitted[:, rows].reshape(shape)[..., None, None]
                inside = tune[..., :, None] & load[..., None, :]
                fits &= np.where(inside[0], allowed[0], inside[1] & allowed[1]).all(axis=1)
            possible.append(fits)
        return possible

    def matched(self, side: str | None = None) -> list[BoolArray]:
        """Tell of every band which variants match within range at every frequency and point, paddings as they are.

        With a side, ``tune`` or ``load``, only whether that capacitor reaches the match with more load capacitance.
        """
        parts = self.assembly.parts
        found = match(parts)
        if side is None:
            within = np.asarray(found.within(parts).any(axis=0))
        else:
            setting = getattr(found, side)[0]
            with np.errstate(invalid="ignore"):
                within = (setting >= getattr(parts, f"{side}_minimum")) & (
                    setting <= getattr(parts, f"{side}_maximum")
                )
        every_band = []
        for number, choice in enumerate(self.choices):
            blocks = [self.rows(number, point) for point in range(len(self._start))]
            every = np.ones(len(choice.variants), dtype=np.bool_)
            every_band.append(
                np.all([every, *(within[block].all(axis=1) for block in blocks if block.size)], axis=0)
            )
        return every_band

    def picked(self, picks: Picks) -> tuple[Description, Assembly]:
        """Return picked combinations at every operating point; the band index numbers the picks."""
        flat = self._first[picks.band] + picks.variant
        start, lengths = self._start[:, flat].ravel(), self._count[:, flat].ravel()
        ends = np.cumsum(lengths)
        rows = np.repeat(start - (ends - lengths), lengths) + np.arange(ends[-1])
        owner = np.tile(np.arange(len(picks)), len(self._start)).repeat(lengths)
        tune, load = (_values(self.choices, side, picks)[owner] for side in ("tune", "load"))
        taken = self.assembly.take(rows)
        parts = replace(taken.parts, tune_padding=tune, load_padding=load)
        chosen = replace(taken, parts=parts, band_index=owner)
        bands = tuple(self._bands[variant] for variant in flat)
        return self.description.model_copy(update={"bands": bands}), chosen

    def solved(self, picks: Picks, *, whole: bool = False, stand: Settings | None = None) -> Solved:
        """Solve picked combinations; see `solve_in_numpy`."""
        return solve_in_numpy(self._amplifier, *self.picked(picks), whole=whole, stand=stand)

    def outcome(self, picks: Picks | None = None, stand: Settings | None = None) -> Outcome:
        """Return how picked combinations come out, by default the bands as they stand; see `Outcome`."""
        picks = as_they_stand(len(self.choices)) if picks is None else picks
        return outcome_of(self.solved(picks, stand=stand), BY_NETWORK, len(picks))

    def whole(self, picks: Picks, swr: float | None = None, stand: Settings | None = None) -> Outcome:
        """Return how picked combinations come out by every check, as `netsim check` prints it.

        On antennas up to a worst standing wave ratio, the file's by default; where the capacitors stand, if the caller
        knows it.
        """
        solved = self.solved(picks, whole=True, stand=stand)
        if asks_for_more(self._amplifier, swr):
            from netsim.analysis.tube_and_antenna import with_tube_and_antennas

            solved = with_tube_and_antennas(self._amplifier, solved, "two-port", swr)
        return outcome_of(solved, ALL, len(picks))

    def changes(self, picks: Picks, place: int) -> tuple[Change, ...]:
        """Return what one pick does to its band."""
        choice = self.choices[picks.band[place]]
        sides = choice.tune.change(picks.tune[place]), choice.load.change(picks.load[place])
        return (
            *choice.variants[picks.variant[place]].changes,
            *(change for change in sides if change is not None),
        )


def grouped(amplifier: Amplifier, description: Description, choices: Sequence[Choices]) -> list[BandNetworks]:
    """Return all bands together, or one by one where the loops of each depend on the contacts of the others."""
    if description.network.coil.unused_turns == "progressive" and description.network.coil.winding:
        return [BandNetworks(amplifier, description, [choice]) for choice in choices]
    return [BandNetworks(amplifier, description, choices)]


def _without_contacts(description: Description, moving: Sequence[int]) -> tuple[Description, Sequence[Band]]:
    """Leave out the contacts of some bands, unless others use them too, and tell whose there are."""
    others = [band for n, band in enumerate(description.bands) if n not in moving]
    kept = {band.coil_turns for band in others}
    gone = {description.bands[n].coil_turns for n in moving} - kept
    coil = description.network.coil
    if not gone & set(coil.taps):
        return description, others
    taps = tuple(contact for contact in coil.taps if contact not in gone)
    network = description.network.model_copy(update={"coil": coil.model_copy(update={"taps": taps})})
    return description.model_copy(update={"network": network}), others


def _with_paddings(description: Description) -> Description:
    """Let paddings have the Q that a check would take them to have, whether or not there is one yet."""
    network = description.network
    update = {}
    for name in ("tune_padding", "load_padding"):
        part = getattr(network, name) or Padding()
        if part.q is None:
            update[name] = part.model_copy(update={"q": TYPICAL["network", name, "q"].nominal})
    return description.model_copy(update={"network": network.model_copy(update=update)})


def _values(choices: Sequence[Choices], side: str, picks: Picks) -> FloatArray:
    lists = [getattr(choice, side).values for choice in choices]
    offset = np.cumsum([0, *(len(values) for values in lists)])
    values: FloatArray = np.concatenate(lists)[offset[picks.band] + getattr(picks, side)]
    return values


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
