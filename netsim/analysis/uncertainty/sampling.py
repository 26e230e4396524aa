"""Whole amplifiers drawn from within the limits of what is known, each tuned, solved and judged."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from netsim.analysis.networks import solve_samples
from netsim.analysis.uncertainty.draws import SEED, drawn, values_at, variants
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.description.assumed import completed
from netsim.description.inputs import Input
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.verdict.checks import BY_NETWORK, WHATEVER_THE_PLATE_CURRENT, checks
from netsim.verdict.checks.every import Rule
from netsim.verdict.checks.parts import effective_rating
from netsim.verdict.judged import Judged, Rows
from netsim.verdict.losses import losses
from netsim.verdict.result import PART_NAMES
from netsim.verdict.solved import Solved
from netsim.verdict.spread import Place

_ROWS = 7168
"""Networks solved in one go: some 30 MB."""

_WORKERS = 2


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
    losses : mapping of str to ndarray
        As `losses` gives them, shape ``(networks, samples)``; empty where a tube decides about the plate current.
    """

    draws: Draws
    used: Mapping[Place, FloatArray] = field(default_factory=dict)
    over: Mapping[Place, BoolArray] = field(default_factory=dict)
    losses: Mapping[str, FloatArray] = field(default_factory=dict)


def draw(amplifier: Amplifier, samples: int, seed: int = SEED) -> Draws:
    """Draw amplifiers from within the limits of one; the middle one alone where it has none."""
    inputs = amplifier.inputs
    return Draws(inputs, drawn(inputs, samples if inputs else 1, seed), seed)


def sample(
    amplifier: Amplifier, nominal: Assembly, draws: Draws, bands: Sequence[int] | None = None
) -> Sampled:
    """Tune, solve and judge every amplifier drawn, into the matched antenna.

    Parameters
    ----------
    amplifier : Amplifier
        What they were drawn from.
    nominal : Assembly
        Of it as it stands.
    draws : Draws
        At least one quantity must have limits.
    bands : sequence of int, optional
        Indices of the bands wanted, as for `nominal`.

    Returns
    -------
    Sampled
        Of all findings that are judged network by network: of each sample the worst network of a band, as the
        verdict takes it. With a tube only of those that do not depend on the plate current.
    """
    description = completed(amplifier.description)
    whole = assemble(amplifier, variants=variants(draws.inputs, draws.values), bands=bands)
    networks, samples = len(nominal), len(draws)
    step = max(1, _ROWS // networks)
    groups = _groups(nominal)
    peaks = rated_peaks(description)
    has_tube = description.tube is not None

    def piece(start: int) -> tuple[dict[Place, tuple[FloatArray, BoolArray]], Mapping[str, FloatArray]]:
        some = np.arange(start, min(start + step, samples))
        assembly = whole.take((np.arange(networks)[:, np.newaxis] * samples + some).ravel())
        differing = variants(draws.inputs, draws.values[some]).of(description, networks)
        solved = solve_samples(amplifier, differing, assembly, peaks)
        rules = WHATEVER_THE_PLATE_CURRENT if has_tube else BY_NETWORK
        found = dict(reduced(solved, rules, groups, networks))
        lost = {} if has_tube else losses(solved)
        return found, {name: watts.reshape(networks, -1) for name, watts in lost.items()}

    with ThreadPoolExecutor(_WORKERS) as workers:
        pieces = list(workers.map(piece, range(0, samples, step)))
    found = {
        place: [piece[0].get(place) for piece in pieces]
        for place in {p: 0 for piece in pieces for p in piece[0]}
    }
    used, over = (
        {
            place: np.concatenate(
                [
                    np.full(min(step, samples - n * step), absent) if item is None else item[which]
                    for n, item in enumerate(items)
                ]
            )
            for place, items in found.items()
        }
        for which, absent in ((0, 0.0), (1, False))
    )
    names = {name: 0 for piece in pieces for name in piece[1]}
    lost = {
        name: np.concatenate(
            [
                piece[1].get(name, np.zeros((networks, min(step, samples - n * step))))
                for n, piece in enumerate(pieces)
            ],
            axis=1,
        )
        for name in names
    }
    return Sampled(draws, used, over, lost)


def _groups(nominal: Assembly) -> dict[tuple[int, int], Rows]:
    """Give the networks of every band at every operating point."""
    pairs = dict.fromkeys(zip(nominal.band_index.tolist(), nominal.point_index.tolist(), strict=True))
    return {
        (band, point): np.flatnonzero((nominal.band_index == band) & (nominal.point_index == point))
        for band, point in pairs
    }


def reduced(
    solved: Solved, rules: tuple[Rule, ...], groups: Mapping[tuple[int, int], Rows], networks: int
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
