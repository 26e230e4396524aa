"""Two amplifiers side by side: what each band does, what each part bears, and which of the two is better off."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from netsim.advice.coverage import plate_load_coverage
from netsim.advice.fix.change import rewritten
from netsim.advice.quantities import BandComparison, Quantity, margin, quantity, words
from netsim.advice.topology_change import as_topology
from netsim.analysis import Engine, Result, analyse
from netsim.description.reader import Amplifier, loads
from netsim.errors import Problem, UsageError
from netsim.verdict.result import PART_NAMES, BandResult, Finding, Verdict


@dataclass(frozen=True)
class Comparison:
    """Two amplifiers, solved.

    Attributes
    ----------
    titles : tuple of str
        What to call them.
    studies : tuple of Result
        For curves and settings.
    amplifier : tuple of Quantity
        What holds for all bands: plate load, parts, findings.
    bands : tuple of BandComparison
        Those that both have, in the first one's order.
    only_first, only_second : tuple of str
        Bands that one of them has.
    better, worse : tuple of str
        In words, what the second gains and loses.
    """

    titles: tuple[str, str]
    studies: tuple[Result, Result]
    amplifier: tuple[Quantity, ...]
    bands: tuple[BandComparison, ...]
    only_first: tuple[str, ...]
    only_second: tuple[str, ...]
    better: tuple[str, ...]
    worse: tuple[str, ...]


def compare(first: Amplifier, second: Amplifier, *, engine: Engine = "both") -> Comparison:
    """Put two amplifiers side by side.

    Parameters
    ----------
    first, second : Amplifier
        Validated amplifier files.
    engine : {"both", "two-port"}
        Which solvers take part.

    Returns
    -------
    Comparison
        Of the bands whose names they share.

    Raises
    ------
    UsageError
        ``no_common_band``.
    DescriptionError, SolveError
        As in `analyse`.
    """
    names = [[band.name for band in one.description.bands] for one in (first, second)]
    common = [name for name in names[0] if name in names[1]]
    if not common:
        here, there = (", ".join(repr(n) for n in listed) for listed in names)
        raise UsageError(
            Problem(
                "no_common_band",
                f"no band has the same name in both files: {first.path} has {here}, {second.path} has {there}; "
                "give bands that belong together the same name",
                second.path,
            )
        )
    studies = analyse(first, engine=engine, samples=1), analyse(second, engine=engine, samples=1)
    bands = tuple(_band(studies, name) for name in common)
    amplifier = tuple(_amplifier(studies))
    better, worse = words(bands, amplifier)
    return Comparison(
        _titles(first, second),
        studies,
        amplifier,
        bands,
        tuple(n for n in names[0] if n not in names[1]),
        tuple(n for n in names[1] if n not in names[0]),
        better,
        worse,
    )


def compare_topologies(
    amplifier: Amplifier, first: str, second: str, *, engine: Engine = "both"
) -> Comparison:
    """Put the same amplifier with two topologies side by side.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    first, second : str
        ``pi`` or ``pi-L``. The file's own stays as it is; of the other, coils and paddings are designed for
        the same plate load and the file's target loaded Q.
    engine : {"both", "two-port"}
        Which solvers take part.

    Raises
    ------
    UsageError
        ``unknown_topology``, or as in `design`.
    """
    sides = []
    for topology in (first, second):
        edits = as_topology(amplifier, topology)
        text = rewritten(amplifier.text, edits)
        sides.append(loads(text, amplifier.path) if edits else amplifier)
    return compare(*sides, engine=engine)


def _titles(first: Amplifier, second: Amplifier) -> tuple[str, str]:
    titles = first.description.title, second.description.title
    if titles[0] != titles[1]:
        return titles
    topologies = first.description.network.topology, second.description.network.topology
    if topologies[0] != topologies[1]:
        return f"{titles[0]}, {topologies[0]}", f"{titles[1]}, {topologies[1]}"
    return f"{titles[0]} ({first.path})", f"{titles[1]} ({second.path})"


def _amplifier(studies: tuple[Result, Result]) -> Iterator[Quantity]:
    one, other = (walked.verdict for walked in studies)
    yield quantity("plate_load_ohm", "ohm", one.stage.plate_load_ohm, other.stage.plate_load_ohm)
    yield quantity("dc_input_watt", "W", one.stage.dc_input_watt, other.stage.dc_input_watt)
    yield quantity("parts", "1", *(float(_count(verdict)) for verdict in (one, other)))
    for state in ("over", "close"):
        counts = (float(verdict.counts[state]) for verdict in (one, other))
        yield quantity(state, "1", *counts, smaller=True)


def _count(verdict: Verdict) -> int:
    """Parts that stand in the circuit of any band."""
    points = [point for band in verdict.bands for point in band.points]
    return sum(any(point.parts[name] is not None for point in points) for name in PART_NAMES)


def _band(studies: tuple[Result, Result], name: str) -> BandComparison:
    pair = tuple(next(b for b in walked.verdict.bands if b.name == name) for walked in studies)
    worst = [_worst_fractions(walked.verdict, name) for walked in studies]
    highest = (max((used for used, _ in found.values()), default=None) for found in worst)
    served = [_served(walked, name) for walked in studies]
    quantities = [
        quantity("loaded_q", "1", *(b.points[0].loaded_q for b in pair)),
        quantity("tune_farad", "F", *(b.points[0].tune_farad for b in pair)),
        quantity("load_farad", "F", *(b.points[0].load_farad for b in pair)),
        quantity("coil_henry", "H", *(b.points[0].coil_henry for b in pair)),
        quantity("output_coil_henry", "H", *(b.points[0].output_coil_henry for b in pair)),
        quantity("efficiency", "1", *(min(p.efficiency for p in b.points) for b in pair)),
        quantity("output_watt", "W", *(min(p.output_watt for p in b.points) for b in pair)),
        quantity(
            "plate_dissipation_watt", "W", *(max(p.plate_dissipation_watt for p in b.points) for b in pair)
        ),
        quantity("harmonic_level_dbc", "dB", *(_level(b) for b in pair), scale=200.0),
        quantity("used_fraction", "1", *highest),
        quantity("least_plate_load_ohm", "ohm", *(found and found[0] for found in served)),
        quantity("most_plate_load_ohm", "ohm", *(found and found[1] for found in served)),
        quantity("plate_loads_served", "1", *(found and found[1] / found[0] for found in served)),
    ]
    names = [part for part in PART_NAMES if any(part in found for found in worst)]
    return BandComparison(name, tuple(quantities), tuple(margin(part, worst[0], worst[1]) for part in names))


def _level(band: BandResult) -> float | None:
    levels = [h.level_dbc for p in band.points for h in p.harmonics if h.level_dbc is not None]
    return max(levels, default=None)


def _served(walked: Result, band: str) -> tuple[float, float] | None:
    return plate_load_coverage(walked.amplifier, band, 121, 5).range_served(within_window=True)


def _worst_fractions(verdict: Verdict, band: str) -> Mapping[str, tuple[float, str]]:
    """Worst used fraction of each part's ratings in a band, with the code of the finding."""
    worst: dict[str, tuple[float, str]] = {}
    for finding in verdict.findings:
        if finding.band == band and _is_rating(finding):
            used = finding.used_fraction or 0.0
            if used > worst.get(finding.part, (0.0, ""))[0]:
                worst[finding.part] = used, finding.code
    return worst


def _is_rating(finding: Finding) -> bool:
    return finding.code.startswith("part_") and finding.used_fraction is not None
