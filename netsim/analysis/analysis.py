"""A description solved and judged: the result, and what it rests on."""

import platform
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from importlib.metadata import version
from typing import TYPE_CHECKING

import numpy as np

from netsim import __version__
from netsim.analysis.networks import Engine, solve
from netsim.analysis.uncertainty.draws import SAMPLES, SEED
from netsim.circuit.assembly import Assembly, assemble
from netsim.description.key_path import folded
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.errors import Problem, UsageError
from netsim.verdict.findings import verdict
from netsim.verdict.result import Known, Note, Provenance, Verdict
from netsim.verdict.solved import Solved
from netsim.verdict.spread import Spreads

if TYPE_CHECKING:
    from netsim.analysis.uncertainty.sampling import Draws
    from netsim.analysis.uncertainty.summary import Summed

MOST_SWR = 100.0
MOST_SAMPLES, MOST_SOLVED = 2**17, 2**19
"""Amplifiers drawn, and networks solved in all of them, which bounds time and memory; as many as usual always are."""


def unsampled() -> Spreads:
    """Return what is known of one amplifier as it stands, without limits."""
    return Spreads(Known(1, SEED, (), ()))


@dataclass(frozen=True)
class Analysis:
    """A solved amplifier, with what renderings beyond the result need.

    Attributes
    ----------
    amplifier : Amplifier
        What was asked.
    verdict : Verdict
        What came out.
    solved : Solved
        The arrays behind it, at the stage as it stands in the file and at all operating points.
    swr : float or None
        Worst standing wave ratio asked for instead of the file's.
    spreads : Spreads
        What the limits of what is known do, of every amplifier sampled.
    """

    amplifier: Amplifier
    verdict: Verdict
    solved: Solved
    swr: float | None = None
    spreads: Spreads = field(default_factory=unsampled)

    def row(self, band: str, frequency: float | None = None) -> int:
        """Find the network of a band and frequency [Hz]; the band's first frequency by default.

        Raises
        ------
        UsageError
            If the band has no such frequency.
        """
        for _, name, rows in self.solved.bands():
            if folded(name) != folded(band):
                continue
            listed = self.solved.frequency[rows]
            if frequency is None:
                return int(rows[0])
            near = np.isclose(listed, frequency, rtol=1e-6)
            if near.any():
                return int(rows[np.argmax(near)])
            have = ", ".join(f"{f / 1e6:g} MHz" for f in listed)
            raise UsageError(
                Problem(
                    "unknown_frequency",
                    f"band {band!r} is not solved at {frequency / 1e6:g} MHz; the file lists {have}: "
                    "choose one of these, or add it to the band's frequencies",
                    str(self.amplifier.path),
                )
            )
        self.amplifier.band_index(band)
        raise UsageError(
            Problem("unknown_band", f"band {band!r} was left out here: solve it", self.amplifier.path)
        )


def analyse(
    amplifier: Amplifier,
    *,
    band: str | None = None,
    engine: Engine = "both",
    swr: float | None = None,
    samples: int = SAMPLES,
    draws: "Draws | None" = None,
) -> Analysis:
    """Solve every band of an amplifier and judge it.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    band : str, optional
        Only this one.
    engine : {"both", "two-port"}
        Whether ngspice takes part; without it nothing is cross-checked.
    swr : float, optional
        Worst standing wave ratio of any antenna, instead of the file's ``antenna.worst_swr`` or measurement.
    samples : int
        Amplifiers drawn from within the limits of what is known; 1 leaves the limits out of it.
    draws : Draws, optional
        Those that were drawn already, instead.

    Returns
    -------
    Analysis
        The result and what it rests on.

    Raises
    ------
    DescriptionError
        If the stage is impossible.
    UsageError
        If the band does not exist, or so many samples cannot be.
    SolveError
        If an engine is missing or fails, or the two differ by more than 1e-6.
    """
    if engine == "both":
        from netsim.solvers import spice

        spice.start()
    chosen = None if band is None else [amplifier.band_index(band)]
    if swr is not None and not 1 <= swr <= MOST_SWR:
        raise UsageError(
            Problem("bad_swr", f"a standing wave ratio of 1 to {MOST_SWR:g} is wanted; found {swr:g}")
        )
    assembly = assemble(amplifier, bands=chosen)
    _demand_samples(samples, len(assembly))
    with ThreadPoolExecutor(1) as beside:  # ngspice works in a process of its own meanwhile
        sampling = beside.submit(_sampled, amplifier, assembly, draws, samples)
        solved, apart = solve(amplifier, assembly, engine)
    if asks_for_more(amplifier, swr):
        from netsim.analysis.tube_and_antenna import with_tube_and_antennas

        solved = with_tube_and_antennas(amplifier, solved, engine, swr)
    if has_box(amplifier.description):
        from netsim.analysis.box.walk import with_box

        solved = with_box(solved, engine)
    pyspice = ngspice = None
    if engine == "both":
        pyspice, ngspice = version("PySpice"), spice.version()
    provenance = Provenance(
        netsim=__version__,
        python=platform.python_version(),
        numpy=np.__version__,
        pyspice=pyspice,
        ngspice=ngspice,
        scikit_rf=version("scikit-rf"),
        input_sha256=amplifier.sha256,
    )
    spreads = _spreads(amplifier, solved, sampling.result())
    found = verdict(solved, apart, provenance, _remarks(amplifier, solved, swr), spreads)
    return Analysis(amplifier, found, solved, swr, spreads)


def _demand_samples(samples: int, networks: int) -> None:
    most = min(MOST_SAMPLES, max(SAMPLES, MOST_SOLVED // networks))
    if not 1 <= samples <= most:
        message = f"1 to {most} samples are wanted of an amplifier of {networks} networks; found {samples}"
        raise UsageError(Problem("bad_samples", f"{message}: {SAMPLES} are usual"))


def _sampled(
    amplifier: Amplifier, assembly: Assembly, draws: "Draws | None", samples: int
) -> "tuple[Draws, list[Summed]] | None":
    """Sample what is known within limits; nothing is worked out where there is nothing of the kind."""
    if draws is None and (samples == 1 or not amplifier.inputs):
        return None
    from netsim.analysis.uncertainty.sampling import draw, sample
    from netsim.analysis.uncertainty.summary import summed

    draws = draws or draw(amplifier, samples)
    return draws, [summed(some) for some in sample(amplifier, assembly, draws)]


def _spreads(amplifier: Amplifier, solved: Solved, sampled: "tuple[Draws, list[Summed]] | None") -> Spreads:
    """Sum up what was sampled, other antennas added."""
    if sampled is None:
        return unsampled()
    from netsim.analysis.uncertainty.summary import summary, summed

    draws, parts = sampled
    if solved.any_antenna is not None:
        from netsim.analysis.uncertainty.antennas import sample_antennas

        parts = [*parts, summed(sample_antennas(amplifier, solved, draws))]
    return summary(draws, len(solved.assembly), parts)


def _remarks(amplifier: Amplifier, solved: Solved, swr: float | None) -> list[Note]:
    """List what reading the tube and the measurements brought up."""
    told, state, antenna = [], solved.tube_state, amplifier.description.antenna
    if state is not None:
        from netsim.analysis.tube_assembly import remarks

        told = [Note(p.code, p.message, p.line, p.key) for p in remarks(amplifier, state.tube, state.fit)]
    used = {"measured": antenna.measured is not None and swr is None, "filter": antenna.filter is not None}
    if any(used.values()):
        from netsim.analysis import antenna_files

        files = tuple(key for key, there in used.items() if there)
        told += antenna_files.remarks(amplifier, solved.assembly.parts, files)
    return told


def has_box(description: Description) -> bool:
    """Tell whether the file has any table of the box around the network."""
    tables = (description.bias, description.input, description.supply, description.cooling)
    return any(table is not None for table in tables) or bool(description.meters)


def asks_for_more(amplifier: Amplifier, swr: float | None) -> bool:
    """Whether there is a tube, a measured antenna or a worst SWR above 1, in the file or instead of it."""
    antenna = amplifier.description.antenna
    worst = antenna.worst_swr if swr is None else swr
    measured = antenna.measured is not None and swr is None
    return amplifier.description.tube is not None or measured or worst > 1
