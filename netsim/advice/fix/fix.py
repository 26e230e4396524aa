"""The smallest change that clears what is over: searched in batch, proven by both engines, told as a diff."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from netsim.advice.band_changes import choices_of
from netsim.advice.box.insulator import insulators
from netsim.advice.change import (
    WEIGHTS,
    Change,
    applied,
    changed,
    edits_of,
    together,
    with_contacts,
    without_contacts,
)
from netsim.advice.fix.effects import Effect, compared
from netsim.advice.fix.proposal import definite, rated, without_needless
from netsim.advice.fix.search import MOST_NETWORKS, Found, Search, stages
from netsim.advice.fix.tap_reasons import moved_elsewhere
from netsim.advice.part_changes import (
    blocking,
    less_power,
    less_stray,
    plate_leads,
    quieter_choke,
    source_edits,
    suppressors,
    widest_range,
)
from netsim.advice.remedies import solved_remedies, with_remedies
from netsim.advice.single_changes import SingleChanges, is_rating
from netsim.advice.topology_change import topology_change
from netsim.analysis import Analysis, Engine, analyse
from netsim.circuit.assembly import assemble
from netsim.description.reader import Amplifier
from netsim.verdict.result import Finding

_MOST_BANDS = 2
"""Bands of which changes are solved on every antenna, each of which takes hundreds of solutions."""

_MOST_ROUNDS = 2
"""Times that what the search left over is looked at again, remedy by remedy."""


_LOWER = (0.6, 0.35)
"""How far below the settings of the matched antenna replaced capacitors are tried to reach, for other antennas."""

_OWN_TOPOLOGY = 2 / 3
"""Share of the budget that goes into the topology as it is."""


@dataclass(frozen=True)
class Fix:
    """A set of changes and what has been proven of it.

    Attributes
    ----------
    changes : tuple of Change
        What to do; empty where nothing is over.
    weight : int
        Sum of their weights.
    text, diff : str
        The file as it would be, and the change to it as ``patch`` reads it.
    before, after : Analysis
        Solved by the engines asked for.
    effects : tuple of Effect
        On every finding that is over or close before or after, or changes state.
    remaining : tuple of Finding
        What is still over, used as little as was reached; each says in ``why`` what limits it, and in ``fix`` what
        might help.
    tried : int
        How many combinations were solved in batch.
    networks : int
        How many networks that took, or could have been solved in that time: what a budget counts.
    budget : int
        How many the search might have taken.
    ended_early : bool
        Whether the budget ended before the search did, so that a smaller set may exist.
    elsewhere : mapping of str to str
        By band, why a tap that is moved goes elsewhere than the advice on taps has it.
    """

    changes: tuple[Change, ...]
    weight: int
    text: str
    diff: str
    before: Analysis
    after: Analysis
    effects: tuple[Effect, ...]
    remaining: tuple[Finding, ...]
    tried: int
    ended_early: bool = False
    networks: int = 0
    budget: int = MOST_NETWORKS
    elsewhere: Mapping[str, str] = field(default_factory=dict)

    @property
    def clears(self) -> bool:
        """Whether nothing is over any more."""
        return not self.remaining


def fix(
    amplifier: Amplifier,
    *,
    engine: Engine = "both",
    before: Analysis | None = None,
    budget: int = MOST_NETWORKS,
) -> Fix:
    """Search the smallest set of changes after which nothing is over, and prove it.

    Parameters
    ----------
    amplifier, engine : Amplifier, {"both", "two-port"}
        What is over, and which solvers prove the result.
    before : Analysis, optional
        ``analyse(amplifier, engine=engine, samples=1)`` if the caller already has it.
    budget : int
        How many networks the search may solve, in stages of which the first is the default; where it ends first,
        the best by then is taken, and said so. More never finds worse: what each stage ends with is proven, and the
        best taken.

    Returns
    -------
    Fix
        Without changes where nothing is over: what is only close needs none. Of sets of equal weight the
        one that leaves least close, then the one nearest to the target loaded Q. Where nothing clears
        everything, the set that leaves least over.

    Raises
    ------
    DescriptionError, SolveError
        As in `analyse`.

    Notes
    -----
    Weights are those of `WEIGHTS`: setting < padding < tap < part < topology; output given up counts for
    every started tenth. Ratings are no part of the search: they follow from what the chosen network carries, and
    count once for each part. What is still over then, such as on other antennas, which the search does not look
    at, is gone through remedy by remedy.
    """
    before = before or analyse(amplifier, engine=engine, samples=1)
    if not before.verdict.counts["over"]:
        return Fix((), 0, amplifier.text, "", before, before, compared(before, before), (), 0)
    best: tuple[tuple[int, int, int], tuple[Change, ...], Analysis] | None = None
    proven: set[tuple[object, ...]] = set()
    for found in _searched(amplifier, before, budget):
        if found.identity in proven:
            continue
        proven.add(found.identity)
        changes, after = _proven(amplifier, before, found, engine)
        counts = after.verdict.counts
        rank = counts["over"], sum(change.weight for change in changes), counts["close"]
        if best is None or rank < best[0]:
            best = rank, changes, after
    assert best is not None  # the amplifier as it stands is among the configurations
    return _fix(best[1], before, best[2], found, max(budget, MOST_NETWORKS))


def _proven(
    amplifier: Amplifier, before: Analysis, found: Found, engine: Engine
) -> tuple[tuple[Change, ...], Analysis]:
    """Make definite parts of what the search found, solve them in full, and go through what is still over."""
    best = rated(amplifier, definite(amplifier, found), found.replaced, before.swr)
    after = _after(amplifier, best.changes, before, engine)
    for lower in _LOWER if found.replaced & {"tune_capacitor", "load_capacitor"} else ():
        roomy = definite(amplifier, found, lower)
        if not _wants_range(after) or edits_of(roomy) == edits_of(best.network):
            break
        further = rated(amplifier, roomy, found.replaced, before.swr)
        tried = _after(amplifier, further.changes, before, engine)
        if tried.verdict.counts["over"] >= after.verdict.counts["over"]:
            break
        best, after = further, tried
    for _ in range(_MOST_ROUNDS):
        more = _next_changes(after) if after.verdict.counts["over"] else []
        if not more:
            break
        widened = with_contacts(
            amplifier.description,
            together(*([without_contacts(c) for c in some] for some in (best.network, more))),
        )
        further = rated(amplifier, widened, found.replaced, before.swr)
        tried = _after(amplifier, further.changes, before, engine)
        if tried.verdict.counts["over"] >= after.verdict.counts["over"]:
            break
        best, after = further, tried
    if {change.part for change in best.changes if change.part} - found.replaced:
        # A rating that other antennas ask for clears what the search went round.
        fewer = without_needless(amplifier, best, found.replaced, before.swr)
        if fewer is not best:
            tried = _after(amplifier, fewer.changes, before, engine)
            if tried.verdict.counts["over"] <= after.verdict.counts["over"]:
                best, after = fewer, tried
    return best.changes, after


def _wants_range(after: Analysis) -> bool:
    """Tell whether more range of a capacitor may clear something."""
    return any(
        f.state == "over" and f.code in ("tuning_range", "plate_match") for f in after.verdict.findings
    )


def _searched(amplifier: Amplifier, before: Analysis, budget: int) -> Iterator[Found]:
    """Yield what each stage of the search ends with, with the topology as it is and with the other one."""
    groups, standing = _parts(amplifier, before)
    search = _search(amplifier, groups, standing)
    topology: Change | None = None
    other: Search | None = None
    for stage in stages(budget):
        best = search.advance(round(stage * _OWN_TOPOLOGY))
        assert best is not None  # the amplifier as it stands is among the configurations
        beat = min(best.key[:2], (1, 0))  # another topology is asked for only where it clears everything
        if beat > (0, WEIGHTS["topology"]):
            if other is None and (topology := topology_change(amplifier)) is not None:
                other = _search(amplifier, groups, [topology, *standing])
            if other is not None:
                best = other.advance(stage - search.spent, beat) or best
        spent, tried = (
            sum(getattr(one, key) for one in (search, other) if one) for key in ("spent", "tried")
        )
        early = best.ended_early or not search.ended
        yield replace(best, networks=spent, tried=tried, ended_early=early)


def _search(amplifier: Amplifier, groups: Sequence[Sequence[Change]], standing: Sequence[Change]) -> Search:
    """Set up the search with what is done in any case."""
    description = applied(amplifier.description, edits_of(standing))
    assembly = assemble(amplifier, description)
    choices = choices_of(description, assembly.wound, float(assembly.stage.plate_load[0]))
    return Search(amplifier, choices, groups, standing)


def _parts(amplifier: Amplifier, before: Analysis) -> tuple[list[list[Change]], list[Change]]:
    """Return what can be done to the amplifier as a whole, and what has to be done in any case."""
    description, findings = amplifier.description, before.verdict.findings
    over = {finding.code for finding in findings if finding.state == "over"}
    used = [f.used_fraction or 0.0 for f in findings if f.part == "suppressor"]
    swr = before.swr or description.antenna.worst_swr
    groups = [
        *([widest_range(description, side, swr)] for side in ("tune", "load")),
        *(less_stray(description, side) for side in ("tune", "load")),
        suppressors(description, max(used, default=0.0)),
        less_power(description.stage),
    ]
    if _over_on_top(before):
        groups += [plate_leads(description), insulators(before.solved)]
    feed = blocking(description, before.solved.assembly.parts)
    standing = quieter_choke(description) if "choke_resonance" in over else []
    if "antenna_dc" in over:
        standing += feed
    else:
        groups.append(feed)
    return [group for group in groups if group], standing


def _over_on_top(before: Analysis) -> bool:
    """Tell whether the highest band is not matched, or its loaded Q is out of its window."""
    bands = before.amplifier.description.bands
    top = max(bands, key=lambda band: max(band.frequencies)).name
    codes = ("tuning_range", "loaded_q", "plate_match")
    return any(f.state == "over" and f.band == top and f.code in codes for f in before.verdict.findings)


def _next_changes(after: Analysis) -> list[Change]:
    """Return for what is still over the first remedy of each finding that makes nothing else over."""
    found: dict[str, Change] = {}
    for finding, some in solved_remedies(after):
        if finding.state == "over":
            good = [
                change
                for change, one in some
                if not (change.only_ratings and change.part) and not any(w.state == "over" for w in one.worse)
            ]
            for change in good[:1]:
                found.setdefault(change.place, change)
    if not found:
        found = {change.place: change for change in _on_antennas(after)}
    return list(found.values())


def _on_antennas(after: Analysis) -> Iterator[Change]:
    """Yield for bands that are over on other antennas alone the smallest change that clears it there."""
    changes = SingleChanges(after)
    worst = {
        one.band: one
        for one in reversed(changes.to_mend)
        if one.finding.state == "over" and one.finding.case == "any_antenna" and not is_rating(changes, one)
    }
    for one in list(worst.values())[-_MOST_BANDS:]:
        helping = [tried for tried in changes.on_antennas(one) if tried.helps(one)]
        if helping:
            yield min(helping, key=lambda tried: tried.rank(one)).change


def _after(amplifier: Amplifier, changes: Sequence[Change], before: Analysis, engine: Engine) -> Analysis:
    """Write changes into the file, read it again, and solve the whole amplifier."""
    edits = [*edits_of(changes), *source_edits(amplifier.description, changes)]
    return analyse(changed(amplifier, edits), engine=engine, swr=before.swr, samples=1)


def _fix(changes: Sequence[Change], before: Analysis, after: Analysis, found: Found, budget: int) -> Fix:
    remaining: tuple[Finding, ...] = ()
    if after.verdict.counts["over"]:
        listed = with_remedies(after, before.solved.description).verdict.findings
        remaining = tuple(finding for finding in listed if finding.state == "over")
    proposed = after.amplifier
    return Fix(
        tuple(changes),
        sum(change.weight for change in changes),
        proposed.text,
        before.amplifier.diff(proposed),
        before,
        after,
        compared(before, after),
        remaining,
        found.tried,
        found.ended_early,
        found.networks,
        budget,
        moved_elsewhere(before.amplifier, proposed),
    )
