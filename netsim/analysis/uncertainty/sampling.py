"""Whole amplifiers drawn from within the limits of what is known, each tuned, solved and judged."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from netsim.analysis.networks import solve_samples
from netsim.analysis.uncertainty.draws import SEED, drawn, values_at, variants
from netsim.circuit.assembly import Assembly, assemble, inputs_of
from netsim.circuit.elements import FloatArray, IndexArray
from netsim.circuit.tuning import BoolArray
from netsim.description.assumed import completed
from netsim.description.inputs import Input
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.verdict.checks import BY_NETWORK, WHATEVER_THE_PLATE_CURRENT, checks
from netsim.verdict.checks.every import Rule
from netsim.verdict.checks.parts import effective_rating
from netsim.verdict.judged import Judged
from netsim.verdict.losses import losses
from netsim.verdict.result import PART_NAMES
from netsim.verdict.solved import Solved
from netsim.verdict.spread import Place

_ROWS = 7168
"""Networks solved in one go: some 30 MB."""

_ASSEMBLED = 8 * _ROWS
"""Networks put together in one go: some 30 MB, with a filter three times that."""

_KEPT = 2**17
"""Networks of which everything is kept until it is summed up: some 50 MB."""

_LEAST_LOSSES = 256

_WORKERS = 2


Judgements = Mapping[Place, tuple[FloatArray, BoolArray]]
"""Used fractions and what is over, of every finding, shape ``(samples,)``."""


@dataclass(frozen=True)
class Draws:
    """Amplifiers drawn from within the limits of one.

    Attributes
    ----------
    inputs : tuple of Input
        What has limits: d quantities.
    places : ndarray
        Where between its limits each quantity stands, 0 to 1, shape ``(samples, d)``.
    seed : int
        Of the drawing.
    even : bool
        Whether every place between the limits is as likely as any other.
    """

    inputs: tuple[Input, ...]
    places: FloatArray
    seed: int = SEED
    even: bool = True

    def __len__(self) -> int:
        return len(self.places)

    @property
    def values(self) -> FloatArray:
        """The quantities, SI, shape ``(samples, d)``."""
        return values_at(self.inputs, self.places)


@dataclass(frozen=True)
class Sampled:
    """What became of the amplifiers drawn.

    Attributes
    ----------
    draws : Draws
        Which they are.
    used, over : mapping of Place to ndarray
        Used fraction of each finding, infinite where there is none, and whether it is over; ``(samples,)``.
    rows : ndarray of int
        The networks that `losses` are of.
    losses : mapping of str to ndarray
        As `losses` gives them, shape ``(rows, some samples)``; of very many networks only of the first amplifiers
        drawn. Empty where a tube decides about the plate current.
    """

    draws: Draws
    used: Mapping[Place, FloatArray] = field(default_factory=dict)
    over: Mapping[Place, BoolArray] = field(default_factory=dict)
    rows: IndexArray = field(default_factory=lambda: np.empty(0, dtype=np.intp))
    losses: Mapping[str, FloatArray] = field(default_factory=dict)


def draw(amplifier: Amplifier, samples: int, seed: int = SEED) -> Draws:
    """Draw amplifiers from within the limits of one; the middle one alone where it has none."""
    inputs = inputs_of(amplifier)
    return Draws(inputs, drawn(inputs, samples if inputs else 1, seed), seed)


def sample(amplifier: Amplifier, nominal: Assembly, draws: Draws) -> Iterator[Sampled]:
    """Tune, solve and judge every amplifier drawn, into the matched antenna.

    Parameters
    ----------
    amplifier : Amplifier
        What they were drawn from.
    nominal : Assembly
        Of it as it stands, of all bands or some.
    draws : Draws
        At least one quantity must have limits.

    Yields
    ------
    Sampled
        Of as many bands and operating points at a time as fit in memory: of all findings that are judged network
        by network, of each sample the worst network of a band, as the verdict takes it. With a tube only of those
        that do not depend on the plate current.
    """
    groups = _groups(nominal)
    together: list[list[tuple[int, int]]] = [[]]
    count = 0
    for key, rows in groups.items():
        if together[-1] and (count + len(rows)) * len(draws) > _KEPT:
            together.append([])
            count = 0
        together[-1].append(key)
        count += len(rows)
    lost = max(_LEAST_LOSSES, _KEPT // len(nominal))
    with ThreadPoolExecutor(_WORKERS) as workers:
        for keys in together:
            yield _sampled(amplifier, nominal, draws, {key: groups[key] for key in keys}, lost, workers)


def _sampled(
    amplifier: Amplifier,
    nominal: Assembly,
    draws: Draws,
    groups: Mapping[tuple[int, int], IndexArray],
    lost: int,
    workers: ThreadPoolExecutor,
) -> Sampled:
    """Sample some bands at some operating points, the losses of the first `lost` amplifiers."""
    description = completed(amplifier.description)
    peaks, has_tube = rated_peaks(description), description.tube is not None
    bands = sorted({band for band, _ in groups})
    there = np.flatnonzero(np.isin(nominal.band_index, bands))
    like, rows = nominal.take(there), np.sort(np.concatenate(list(groups.values())))
    wanted, here = np.searchsorted(there, rows), {k: np.searchsorted(rows, at) for k, at in groups.items()}
    networks, samples = len(rows), len(draws)
    step = max(1, _ROWS // networks)

    def piece(
        whole: Assembly, first: int, values: FloatArray, start: int
    ) -> tuple[Judgements, Mapping[str, FloatArray]]:
        some = np.arange(start, min(start + step, len(values)))
        assembly = whole.take((wanted[:, np.newaxis] * len(values) + some).ravel())
        differing = variants(draws.inputs, values[some]).of(description, networks)
        solved = solve_samples(amplifier, differing, assembly, peaks)
        rules = WHATEVER_THE_PLATE_CURRENT if has_tube else BY_NETWORK
        found = dict(reduced(solved, rules, here, networks))
        watts = {} if has_tube or first + start >= lost else losses(solved)
        return found, {name: values.reshape(networks, -1) for name, values in watts.items()}

    pieces: list[tuple[Judgements, Mapping[str, FloatArray]]] = []
    most = max(1, _ASSEMBLED // (len(there) * step)) * step
    for first in range(0, samples, most):
        values = values_at(draws.inputs, draws.places[first : first + most])
        whole = assemble(amplifier, variants=variants(draws.inputs, values), bands=bands, like=like)
        pieces += workers.map(partial(piece, whole, first, values), range(0, len(values), step))
    sizes = [min(step, samples - n * step) for n in range(len(pieces))]
    used, over = joined([found for found, _ in pieces], sizes)
    names = {name: 0 for _, watts in pieces for name in watts}
    told = [(watts, size) for (_, watts), size in zip(pieces, sizes, strict=True) if watts]
    lost_by = {
        name: np.concatenate([watts.get(name, np.zeros((networks, size))) for watts, size in told], axis=1)[
            :, :lost
        ]
        for name in names
    }
    return Sampled(draws, used, over, rows, lost_by)


def joined(
    pieces: Sequence[Judgements], sizes: Sequence[int]
) -> tuple[dict[Place, FloatArray], dict[Place, BoolArray]]:
    """Join the judgements on samples that were solved apart; a finding that some pieces lack is none there."""
    used: dict[Place, FloatArray] = {}
    over: dict[Place, BoolArray] = {}
    for place in {place: 0 for found in pieces for place in found}:
        there = [
            found.get(place, (np.zeros(size), np.zeros(size, dtype=np.bool_)))
            for found, size in zip(pieces, sizes, strict=True)
        ]
        used[place] = np.concatenate([one for one, _ in there])
        over[place] = np.concatenate([one for _, one in there])
    return used, over


def _groups(nominal: Assembly) -> dict[tuple[int, int], IndexArray]:
    """Give the networks of every band at every operating point."""
    pairs = dict.fromkeys(zip(nominal.band_index.tolist(), nominal.point_index.tolist(), strict=True))
    return {
        (band, point): np.flatnonzero((nominal.band_index == band) & (nominal.point_index == point))
        for band, point in pairs
    }


def reduced(
    solved: Solved, rules: tuple[Rule, ...], groups: Mapping[tuple[int, int], IndexArray], networks: int
) -> Iterator[tuple[Place, tuple[FloatArray, BoolArray]]]:
    """Judge samples, and take the worst network of each sample, band and operating point.

    Parameters
    ----------
    solved : Solved
        Of ``networks * samples`` networks, the samples of the first network first.
    rules : tuple of callable
        Which checks.
    groups : mapping of (band, point) to ndarray of int
        Networks that belong together.
    networks : int
        How many there are of each sample.

    Yields
    ------
    Place, (used, over)
        Each of shape ``(samples,)``.
    """
    for judged in checks(solved, rules):
        if not isinstance(judged, Judged) or np.isnan(judged.used).all():
            continue
        strain = np.where(judged.applies, judged.strain, -np.inf).reshape(networks, -1)
        used = np.where(np.isnan(judged.used), np.inf, judged.used).reshape(networks, -1)
        over = judged.over.reshape(networks, -1)
        for (band, point), rows in groups.items():
            worst = np.argmax(strain[rows], axis=0)[np.newaxis]
            if np.isneginf(np.take_along_axis(strain[rows], worst, axis=0)).all():
                continue
            yield (
                (judged.check, band, point),
                (np.take_along_axis(used[rows], worst, axis=0)[0], np.asarray(over[rows].any(axis=0))),
            )


def rated_peaks(description: Description) -> Collection[str]:
    """Name the parts whose peak voltages something is held against; those across a band switch among them."""
    rated = {
        name
        for name in PART_NAMES
        if (part := getattr(description.network, name)) is not None
        and effective_rating(part, "voltage_rating") is not None
    }
    return rated | ({"coil", "output_coil"} if "band_switch" in rated else set())
