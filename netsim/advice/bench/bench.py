"""The bench: what to measure cold, how readings agree, and where they say the power goes."""

from dataclasses import dataclass

import numpy as np

from netsim.advice.bench.cold_test import ColdTest, cold_tests
from netsim.advice.bench.comparison import Compared, Computed, beside, computed
from netsim.analysis import SAMPLES, Analysis, Engine, analyse
from netsim.description.reader import Amplifier
from netsim.verdict.losses import OUTPUT

_WORTH_TELLING = 0.1
"""Share of a loss's own standard deviation by which readings must move it, to be told."""

_LEAST = 1e-4
"""Share of the output by which they must move it besides."""


@dataclass(frozen=True)
class Pointer:
    """A loss that an output reading moves: how far from what was expected, and to what [W].

    ``deviations`` is the move over the standard deviation that the limits leave the loss.
    """

    line: int
    band: str
    place: str
    watt: float
    moved_watt: float
    deviations: float


@dataclass(frozen=True)
class Bench:
    """The bench card of an amplifier.

    Attributes
    ----------
    result : Analysis
        Of the amplifier, losses of every band among it.
    cold_match : tuple of ColdTest
        One for each band.
    readings : tuple of Compared
        In the order of the file.
    points_to : tuple of Pointer
        What the output readings say of the losses, the one that explains most watts first.
    """

    result: Analysis
    cold_match: tuple[ColdTest, ...]
    readings: tuple[Compared, ...]
    points_to: tuple[Pointer, ...]


def bench(
    amplifier: Amplifier,
    *,
    plate_resistor: float | None = None,
    engine: Engine = "both",
    samples: int = SAMPLES,
    solved: Analysis | None = None,
) -> Bench:
    """Work out the bench card of an amplifier, and hold its readings against what is calculated.

    Parameters
    ----------
    amplifier, engine, samples : Amplifier, {"both", "two-port"}, int
        As of `analyse`.
    plate_resistor : float, optional
        At hand for the cold test [ohm].
    solved : Analysis, optional
        Of the same amplifier, where there is one already: its samples, and its bands, are taken.

    Raises
    ------
    DescriptionError, SolveError
        As `analyse`; a measurement file that is unusable.
    """
    result = analyse(amplifier, engine=engine, samples=samples) if solved is None else solved
    samples = result.spreads.known.samples
    bands = {band.name for band in result.verdict.bands}
    tests = tuple(test for test in cold_tests(amplifier, plate_resistor) if test.band in bands)
    found = computed(amplifier, samples)
    return Bench(result, tests, beside(amplifier, *found), _pointers(result, found))


def _pointers(result: Analysis, found: Computed) -> tuple[Pointer, ...]:
    """Say what each output reading makes of the losses of its band.

    Of losses x and output y over the same amplifiers the reading Y moves the expected x by
    ``cov(x, y) / (var(y) + u^2) (Y - mean(y))``: linear regression, u the reading's standard uncertainty.
    """
    pointers = []
    solved = {index: (name, rows) for index, name, rows in result.solved.bands()}
    for reading, values in zip(found.readings, found.sampled, strict=True):
        if reading.kind != "output" or reading.band not in solved:
            continue
        name, rows = solved[reading.band]
        output = np.asarray(np.real(values), dtype=float)
        row = int(rows[np.argmin(result.solved.output_power[rows])])
        gap = (float(np.real(reading.value)) - output.mean()) / (output.var() + reading.deviation**2)
        for place, watts in result.spreads.losses.items():
            lost = watts[row]
            spread, same = float(lost.std()), output[: len(lost)]
            if place == OUTPUT or spread == 0:
                continue
            moved = float(np.mean((lost - lost.mean()) * (same - same.mean())) * gap)
            if abs(moved) >= max(_WORTH_TELLING * spread, _LEAST * output.mean()):
                watt = float(lost.mean()) + moved
                pointers.append(Pointer(reading.line, name, place, watt, moved, moved / spread))
    return tuple(sorted(pointers, key=lambda pointer: -abs(pointer.moved_watt)))
