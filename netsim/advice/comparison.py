"""Two amplifiers side by side: what each band does, what each part bears, and which of the two is better off."""

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.change import changed
from netsim.advice.coverage import plate_load_coverage
from netsim.advice.outcome import check_of
from netsim.advice.quantities import BandComparison, Quantity, margin, quantity, words
from netsim.advice.remedy_words import named
from netsim.advice.topology_change import as_topology
from netsim.analysis import Analysis, Engine, analyse
from netsim.description.reader import Amplifier
from netsim.errors import Problem, UsageError
from netsim.verdict.judged import Check
from netsim.verdict.result import PART_NAMES, BandResult, Verdict

_AT_FIRST = (
    ("loaded_q", "1"),
    ("tune_farad", "F"),
    ("load_farad", "F"),
    ("coil_henry", "H"),
    ("output_coil_henry", "H"),
)
_WORST = (("efficiency", "1", min), ("output_watt", "W", min), ("plate_dissipation_watt", "W", max))
_WHERE_IT_HAPPENS = {Check("second_match", "network", "load"), Check("antenna_dc", "network", "dc_voltage")}
"""Checks that are told only where they find something, though always made."""


@dataclass(frozen=True)
class Comparison:
    """Two amplifiers, solved.

    Attributes
    ----------
    titles : tuple of str
        What to call them.
    results : tuple of Analysis
        For curves and settings.
    alike : tuple of Verdict
        Of either, with findings of those kinds alone that both have, on the bands that both have: like is
        compared with like.
    amplifier : tuple of Quantity
        What holds for all bands: plate load, parts, findings.
    bands : tuple of BandComparison
        Those that both have, in the first one's order.
    only_first, only_second : tuple of str
        Bands that one of them has.
    better, worse : tuple of str
        In words, what the second gains and loses.
    left_out : tuple of str
        In words, which checks only one of them has, and why the other has none.
    other_differences : tuple of str
        In words, what else differs beneath and moves what is compared: the Q that coils count with.
    """

    titles: tuple[str, str]
    results: tuple[Analysis, Analysis]
    alike: tuple[Verdict, Verdict]
    amplifier: tuple[Quantity, ...]
    bands: tuple[BandComparison, ...]
    only_first: tuple[str, ...]
    only_second: tuple[str, ...]
    better: tuple[str, ...]
    worse: tuple[str, ...]
    left_out: tuple[str, ...]
    other_differences: tuple[str, ...]


def compare(
    first: Amplifier | Analysis, second: Amplifier | Analysis, *, engine: Engine = "both"
) -> Comparison:
    """Put two amplifiers side by side, on the bands whose names they share; what is solved already is not solved again.

    Raises
    ------
    UsageError
        ``no_common_band``.
    DescriptionError, SolveError
        As in `analyse`.
    """
    one, other = (item.amplifier if isinstance(item, Analysis) else item for item in (first, second))
    names = [[band.name for band in amplifier.description.bands] for amplifier in (one, other)]
    common = [name for name in names[0] if name in names[1]]
    if not common:
        here, there = (", ".join(repr(n) for n in listed) for listed in names)
        raise UsageError(
            Problem(
                "no_common_band",
                f"no band has the same name in both files: {one.path} has {here}, {other.path} has {there}; "
                "give bands that belong together the same name",
                other.path,
            )
        )
    left, right = (
        item if isinstance(item, Analysis) else analyse(item, engine=engine, samples=1)
        for item in (first, second)
    )
    results = left, right
    kinds = [_kinds(result.verdict, common) for result in results]
    alike = tuple(_alike(result.verdict, kinds[0] & kinds[1], common) for result in results)
    pair = alike[0], alike[1]
    bands = tuple(_band(results, pair, name) for name in common)
    amplifier = tuple(_amplifier(pair))
    better, worse = words(bands, amplifier)
    return Comparison(
        _titles(one, other),
        results,
        pair,
        amplifier,
        bands,
        tuple(n for n in names[0] if n not in names[1]),
        tuple(n for n in names[1] if n not in names[0]),
        better,
        worse,
        tuple(_left_out(results, kinds)),
        tuple(_other_differences(results)),
    )


def _kinds(verdict: Verdict, bands: Sequence[str]) -> Set[Check]:
    """Return the kinds of check that were judged on some bands."""
    judged = {check_of(f) for f in verdict.findings if f.band in bands and f.state != "not_rated"}
    return judged | _WHERE_IT_HAPPENS


def _alike(verdict: Verdict, kinds: Set[Check], bands: Sequence[str]) -> Verdict:
    """Leave findings of some kinds on some bands in a verdict."""
    kept = tuple(f for f in verdict.findings if f.band in bands and check_of(f) in kinds)
    counts = {state: sum(f.state == state for f in kept) for state in verdict.counts}
    return replace(verdict, findings=kept, counts=counts)


def _left_out(results: tuple[Analysis, Analysis], kinds: Sequence[Set[Check]]) -> Iterator[str]:
    """Tell which kinds of check one of them has alone, part by part, and what the other lacks."""
    for number, word, other in ((0, "first", "second"), (1, "second", "first")):
        lacking = results[1 - number].verdict
        unrated = {(f.code, f.part) for f in lacking.findings if f.state == "not_rated"}
        reasons: dict[tuple[str, str], list[str]] = {}
        if any(check.case == "any_antenna" for check in kinds[number] - kinds[1 - number]):
            yield f"everything on other antennas: in the {word} alone, the {other} was not solved on them"
        alone = [check for check in kinds[number] - kinds[1 - number] if check.case != "any_antenna"]
        for check in sorted(alone):
            fitted = check.part in _fitted(lacking) or check.part in ("network", "stage")
            rated = (check.code, check.part) not in unrated and check.code != "part_unloaded_voltage"
            why = "has none" if not fitted else "does not judge it" if rated else "gives no rating"
            part = check.part.replace("_", " ")
            kind = named(check).removeprefix(part).strip()
            reasons.setdefault((part, why), []).append(kind)
        for (part, why), some in reasons.items():
            what = f"{part} ({', '.join(dict.fromkeys(some))})"
            yield f"{what}: in the {word} alone, the {other} {why}"


def _other_differences(results: tuple[Analysis, Analysis]) -> Iterator[str]:
    """Tell where the coils of both count with another unloaded Q: their loss is then no matter of the network alone."""
    ranges = []
    for result in results:
        q = result.solved.assembly.parts.coil_q
        ends = f"{np.min(q):.3g}", f"{np.max(q):.3g}"
        ranges.append(ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}")
    if ranges[0] != ranges[1]:
        yield (
            f"the coils count with an unloaded Q of {ranges[0]} in the first and {ranges[1]} in the second: part of "
            "what differs in efficiency, output and the coil's heat is theirs"
        )


def _fitted(verdict: Verdict) -> Set[str]:
    """Return the parts that stand in the circuit of any band."""
    points = [point for band in verdict.bands for point in band.points]
    return {name for name in PART_NAMES if any(point.parts[name] is not None for point in points)}


def compare_topologies(
    amplifier: Amplifier, first: str, second: str, *, engine: Engine = "both"
) -> Comparison:
    """Put the same amplifier with two topologies, ``pi`` or ``pi-L``, side by side.

    The file's own stays as it is; of the other, coils and paddings are designed for the same plate load and the file's
    target loaded Q.

    Raises
    ------
    UsageError
        ``unknown_topology``, or as in `design`.
    """
    sides = []
    for topology in (first, second):
        edits = as_topology(amplifier, topology)
        sides.append(changed(amplifier, edits) if edits else amplifier)
    return compare(*sides, engine=engine)


def _titles(first: Amplifier, second: Amplifier) -> tuple[str, str]:
    titles = first.description.title, second.description.title
    if titles[0] != titles[1]:
        return titles
    topologies = first.description.network.topology, second.description.network.topology
    if topologies[0] != topologies[1]:
        return f"{titles[0]}, {topologies[0]}", f"{titles[1]}, {topologies[1]}"
    return f"{titles[0]} ({first.path})", f"{titles[1]} ({second.path})"


def _amplifier(pair: tuple[Verdict, Verdict]) -> Iterator[Quantity]:
    one, other = pair
    yield quantity("plate_load_ohm", "ohm", one.stage.plate_load_ohm, other.stage.plate_load_ohm)
    yield quantity("dc_input_watt", "W", one.stage.dc_input_watt, other.stage.dc_input_watt)
    yield quantity("parts", "1", *(float(len(_fitted(verdict))) for verdict in pair))
    for state in ("over", "close"):
        counts = (float(verdict.counts[state]) for verdict in pair)
        yield quantity(state, "1", *counts, smaller=True)


def _band(results: tuple[Analysis, Analysis], alike: tuple[Verdict, Verdict], name: str) -> BandComparison:
    pair = tuple(next(b for b in verdict.bands if b.name == name) for verdict in alike)
    worst = [_worst_fractions(verdict, name) for verdict in alike]
    highest = (max((used for used, _ in found.values()), default=None) for found in worst)
    served = [
        plate_load_coverage(result.amplifier, name, 121, 5).range_served(within_window=True)
        for result in results
    ]
    quantities = [quantity(key, unit, *(getattr(b.points[0], key) for b in pair)) for key, unit in _AT_FIRST]
    quantities += [
        quantity(key, unit, *(worst_of(getattr(point, key) for point in b.points) for b in pair))
        for key, unit, worst_of in _WORST
    ]
    quantities += [
        quantity("harmonic_level_dbc", "dB", *(_level(b) for b in pair), scale=200.0),
        quantity("used_fraction", "1", *highest),
        quantity("least_plate_load_ohm", "ohm", *(found and found[0] for found in served)),
        quantity("most_plate_load_ohm", "ohm", *(found and found[1] for found in served)),
        quantity("plate_loads_served", "1", *(found and found[1] / found[0] for found in served)),
    ]
    names = [part for part in PART_NAMES if any(part in found for found in worst)]
    matched = tuple(all(point.tuned for point in band.points) for band in pair)
    margins = tuple(margin(part, worst[0], worst[1]) for part in names)
    return BandComparison(name, (matched[0], matched[1]), tuple(quantities), margins)


def _level(band: BandResult) -> float | None:
    levels = [h.level_dbc for p in band.points for h in p.harmonics if h.level_dbc is not None]
    return max(levels, default=None)


def _worst_fractions(verdict: Verdict, band: str) -> Mapping[str, tuple[float, str]]:
    """Worst used fraction of each part's ratings in a band, with the code of the finding."""
    worst: dict[str, tuple[float, str]] = {}
    for finding in verdict.findings:
        used = finding.used_fraction or 0.0
        if (
            finding.band == band
            and finding.code.startswith("part_")
            and used > worst.get(finding.part, (0.0,))[0]
        ):
            worst[finding.part] = used, finding.code
    return worst
