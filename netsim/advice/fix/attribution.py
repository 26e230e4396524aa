"""Which of a set of changes each finding needs: the set without each of them, solved in batch."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.fix.array_verdict import Check, score, solve
from netsim.advice.fix.change import Move, applied
from netsim.advice.fix.fix import Effect, Fix, Identity, fix, identity
from netsim.advice.fix.part_values import with_switch
from netsim.analysis import Engine, Result
from netsim.circuit.assembly import assemble
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError
from netsim.verdict.result import Finding

_SWITCH = ("network", "coil", "taps")
_SLIGHT = 1.005
"""What moves a used fraction by less than half a percent is not named."""

Place = tuple[Check, str, str | None]
"""A check in one band at one operating point."""

Used = Mapping[Place, float]


@dataclass(frozen=True)
class ExplainedFix:
    """A fix, and which of its changes betters which finding; see `causes`."""

    fix: Fix
    causes: Mapping[Identity, tuple[Move, ...]]


def explained_fix(
    amplifier: Amplifier, *, engine: Engine = "both", before: Result | None = None
) -> ExplainedFix:
    """Search the smallest set of changes as `fix` does, and tell what each of them is for."""
    found = fix(amplifier, engine=engine, before=before)
    return ExplainedFix(found, causes(found))


def causes(found: Fix) -> Mapping[Identity, tuple[Move, ...]]:
    """Tell for every finding that a fix betters which of its changes do that.

    Parameters
    ----------
    found : Fix
        With its effects.

    Returns
    -------
    mapping of Identity to tuple of Move
        Of findings cleared or bettered, in the order of the moves: those without which it would still be over;
        where any one can be spared, those that alone bring it within; else those that lower it at all.
        What no network decides, such as a resonance of the choke, is given the changes to its part and band.
    """
    helped = [e for e in found.effects if e.before is not None and e.outcome in ("cleared", "better")]
    if not found.moves or not helped:
        return {}
    described = found.before.amplifier
    moves = [without_switch(move) for move in found.moves]
    present, after = used_fractions(described, []), used_fractions(described, moves)
    without = [used_fractions(described, [m for m in moves if m is not left]) for left in moves]
    alone: list[Used] = []  # takes as long again, and is seldom needed
    verdict = {}
    for effect in helped:
        assert effect.before is not None
        place = place_of(effect.before)
        if place is None or place not in present or place not in after:
            chosen = _by_place(effect.before, found.moves)
        else:
            bar = _bar(effect, present[place])
            chosen = _needed(bar, after[place], _at(without, place))
            if not chosen:
                alone = alone or [used_fractions(described, [move]) for move in moves]
                chosen = _sufficient(
                    bar, present[place], after[place], _at(without, place), _at(alone, place)
                )
        verdict[identity(effect.before)] = tuple(found.moves[n] for n in chosen)
    return verdict


def _needed(bar: float, after: float, without: Sequence[float]) -> list[int]:
    """Choose the moves that cannot be spared."""
    return [n for n, used in enumerate(without) if used > bar >= after]


def _sufficient(
    bar: float, present: float, after: float, without: Sequence[float], alone: Sequence[float]
) -> list[int]:
    """Choose among moves of which any one can be spared."""
    enough = [n for n, used in enumerate(alone) if used <= bar < present]
    lowering = [n for n, used in enumerate(without) if used > after * _SLIGHT]
    return enough or lowering or [n for n, used in enumerate(alone) if used * _SLIGHT < present]


def _bar(effect: Effect, present: float) -> float:
    """Give what the used fraction has to come below: the limit; the present value where it was only close."""
    assert effect.before is not None
    return 1.0 if effect.before.state == "over" and present > 1 else present / _SLIGHT


def _at(tables: Sequence[Used], place: Place) -> list[float]:
    return [table.get(place, np.inf) for table in tables]


def place_of(finding: Finding) -> Place | None:
    """Give where a finding stands in the table of used fractions; None for one of no band."""
    if finding.band is None:
        return None
    check = Check(finding.code, finding.part, finding.quantity, finding.case)
    return check, finding.band, finding.operating_point


def _by_place(finding: Finding, moves: Sequence[Move]) -> list[int]:
    """Name the changes to a finding's part, and those to its band."""
    part = f"network.{finding.part}"
    return [
        n
        for n, m in enumerate(moves)
        if m.place.startswith(part) or (m.band is not None and m.band == finding.band)
    ]


def used_fractions(amplifier: Amplifier, moves: Sequence[Move]) -> Used:
    """Worst used fraction of every check in every band; nothing where the amplifier cannot run so."""
    description = amplifier.description
    edits = [edit for move in with_switch(description, moves) for edit in move.edits]
    try:
        changed = applied(description, edits)
        assembly = assemble(amplifier, changed)
    except (DescriptionError, AttributeError):  # a change to a part that another change brings in
        return {}
    solved = solve(amplifier, changed, assembly)
    return {
        (check, band, solved.point_names[point]): float(column.used[rows].max())
        for check, column in score(solved).items()
        for point in solved.points()
        for _, band, rows in solved.bands(point)
    }


def without_switch(move: Move) -> Move:
    """Take the switch's list of taps out of a move: it follows from all moves together."""
    return replace(move, edits=tuple(edit for edit in move.edits if edit.path != _SWITCH))
