"""The smallest change that clears what is over: searched in batch, proven by both engines, told as a diff."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from netsim.advice.fix.band_changes import paddings, variants
from netsim.advice.fix.change import WEIGHTS, Move, applied, rewritten
from netsim.advice.fix.networks import Choices
from netsim.advice.fix.part_changes import Replacement, new_choke, replacements
from netsim.advice.fix.part_values import raise_ratings, settle
from netsim.advice.fix.search import Solution, search
from netsim.advice.topology_change import topology_move
from netsim.analysis import Engine, Result, analyse
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier, loads
from netsim.description.toml_text.rewriting import difference
from netsim.verdict.result import Finding

Outcome = Literal["cleared", "better", "worse", "new", "gone", "same"]
Identity = tuple[str, str | None, str, str, str, str | None]

_SEVERITY = {"over": 3, "close": 2, "not_rated": 1, "pass": 0}
_NOTICEABLE = 0.005


@dataclass(frozen=True)
class Effect:
    """What a change does to one finding.

    Attributes
    ----------
    before, after : Finding or None
        None where the finding is not there.
    outcome : str
        ``cleared`` where nothing is over or close any more; ``better`` or ``worse`` by state, else by used
        fraction beyond half a percent; ``same``; ``new`` and ``gone`` where only one of the two is there.
    """

    before: Finding | None
    after: Finding | None
    outcome: Outcome


@dataclass(frozen=True)
class Fix:
    """A set of changes and what has been proven of it.

    Attributes
    ----------
    moves : tuple of Move
        What to do; empty where nothing is over.
    weight : int
        Sum of their weights.
    text, diff : str
        The file as it would be, and the change to it as ``patch`` reads it.
    before, after : Result
        Solved by the engines asked for.
    effects : tuple of Effect
        On every finding that is over or close before or after, or changes state.
    remaining : tuple of Finding
        What is still over; each says in ``why`` what limits it.
    tried : int
        How many combinations were solved in batch.
    """

    moves: tuple[Move, ...]
    weight: int
    text: str
    diff: str
    before: Result
    after: Result
    effects: tuple[Effect, ...]
    remaining: tuple[Finding, ...]
    tried: int

    @property
    def clears(self) -> bool:
        """Whether nothing is over any more."""
        return not self.remaining


def fix(amplifier: Amplifier, *, engine: Engine = "both", before: Result | None = None) -> Fix:
    """Search the smallest set of changes after which nothing is over, and prove it.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    engine : {"both", "two-port"}
        Which solvers prove the result.
    before : Result, optional
        ``analyse(amplifier, engine=engine)`` if the caller already has it.

    Returns
    -------
    Fix
        Without moves where nothing is over: what is only close needs no change. Of sets of equal weight the
        one that leaves least close, then the one nearest to the target loaded Q. Where nothing clears
        everything, the set that leaves least over.

    Raises
    ------
    DescriptionError, SolveError
        As in `analyse`.

    Notes
    -----
    Weights are those of `WEIGHTS`: setting < padding < tap < part < topology; output given up counts for
    every started tenth.
    """
    before = before or analyse(amplifier, engine=engine, samples=1)
    if not before.verdict.counts["over"]:
        return Fix((), 0, amplifier.text, "", before, before, compared(before, before), (), 0)
    solution = _searched(amplifier, before.verdict.findings)
    moves = settle(amplifier, solution)
    found = proven(amplifier, moves, before, engine, solution.tried)
    # What the search does not know, such as stress on other antennas, is met by ratings if it can be.
    raised = raise_ratings(amplifier.description, moves, found.remaining)
    return proven(amplifier, raised, before, engine, solution.tried) if raised != moves else found


def _searched(amplifier: Amplifier, findings: Sequence[Finding]) -> Solution:
    """Search with the topology as it is, then whether the other one takes less."""
    choices = choices_of(amplifier.description)
    groups, standing = _parts(amplifier, findings)
    best = search(amplifier, choices, groups, standing)
    assert best is not None  # the amplifier as it stands is among the configurations
    if best.key[:2] <= (0, WEIGHTS["topology"]):
        return best
    topology = topology_move(amplifier)
    if topology is None:
        return best
    changed = choices_of(applied(amplifier.description, topology.edits))
    other = search(amplifier, changed, groups, (topology, *standing), best.key[:2])
    return other or best


def choices_of(description: Description) -> list[Choices]:
    """List what can be done to each band."""
    return [
        Choices(
            index, variants(description, index), *(paddings(description, index, s) for s in ("tune", "load"))
        )
        for index in range(len(description.bands))
    ]


def _parts(amplifier: Amplifier, findings: Sequence[Finding]) -> tuple[list[list[Replacement]], list[Move]]:
    """Give what can be done to the amplifier as a whole, and what has to be done in any case."""
    description = amplifier.description
    over = {finding.code for finding in findings if finding.state == "over"}
    groups = list(replacements(description, suppressor_use(findings)))
    standing = []
    if "antenna_dc" in over:
        (blocking,) = groups.pop()
        standing.append(blocking.move)
    choke = new_choke(description) if "choke_resonance" in over else None
    if choke is not None:
        standing.append(choke)
    return [group for group in groups if group], standing


def suppressor_use(findings: Sequence[Finding]) -> float:
    """Give the worst used fraction of the suppressor's rating, zero where it has none."""
    used = [f.used_fraction or 0.0 for f in findings if f.part == "suppressor"]
    return max(used, default=0.0)


def proven(
    amplifier: Amplifier, moves: Sequence[Move], before: Result, engine: Engine, tried: int = 0
) -> Fix:
    """Write moves into the file, read it again, and solve the whole amplifier.

    Parameters
    ----------
    amplifier : Amplifier
        The amplifier as it stands.
    moves : sequence of Move
        What to do.
    before : Result
        Of the amplifier as it stands.
    engine : {"both", "two-port"}
        Which solvers prove it.
    tried : int
        Combinations that were solved to find the moves.
    """
    text = rewritten(amplifier.text, [edit for move in moves for edit in move.edits])
    after = analyse(loads(text, amplifier.path), engine=engine, swr=before.swr, samples=1)
    return Fix(
        tuple(moves),
        sum(WEIGHTS[move.kind] * move.times for move in moves),
        text,
        difference(amplifier.text, text, amplifier.path),
        before,
        after,
        compared(before, after),
        tuple(finding for finding in after.verdict.findings if finding.state == "over"),
        tried,
    )


def compared(before: Result, after: Result) -> tuple[Effect, ...]:
    """Match the findings of two studies, worst first; what passes in both is left out."""
    old, new = (_by_identity(one.verdict.findings) for one in (before, after))
    effects = [
        Effect(old.get(key), new.get(key), _outcome(old.get(key), new.get(key))) for key in {**old, **new}
    ]
    return tuple(e for e in effects if (e.outcome != "same" and _matters(e)) or _pressing(e))


def _by_identity(findings: Sequence[Finding]) -> Mapping[Identity, Finding]:
    return {identity(finding): finding for finding in findings}


def identity(finding: Finding) -> Identity:
    """Give what tells a finding from all others of its amplifier."""
    f = finding
    return f.code, f.band, f.part, f.quantity, f.case, f.operating_point


def _matters(effect: Effect) -> bool:
    states = {finding.state for finding in (effect.before, effect.after) if finding is not None}
    return states != {"pass"}


def _pressing(effect: Effect) -> bool:
    return any(f is not None and f.state in ("over", "close") for f in (effect.before, effect.after))


def _outcome(before: Finding | None, after: Finding | None) -> Outcome:
    if before is None:
        return "new"
    if after is None:
        return "gone"
    old, new = _SEVERITY[before.state], _SEVERITY[after.state]
    if old > 1 >= new:
        return "cleared"
    if old != new:
        return "better" if new < old else "worse"
    if before.used_fraction is None or after.used_fraction is None:
        return "same"
    step = after.used_fraction - before.used_fraction
    return "same" if abs(step) <= _NOTICEABLE else "better" if step < 0 else "worse"
