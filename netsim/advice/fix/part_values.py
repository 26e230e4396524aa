"""From the search's choice to definite parts: no wider range, no higher rating than is needed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.fix.array_verdict import Check, Column, score, solve
from netsim.advice.fix.change import Edit, Move, applied, quantity_edit, written
from netsim.advice.fix.part_changes import higher_rating, source_edits
from netsim.advice.fix.preferred_values import HIGHEST_RATING, MINIMA, minimum_below, step_up
from netsim.advice.fix.search import Solution
from netsim.circuit.assembly import assemble
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.verdict.checks.parts import RATINGS, effective_rating
from netsim.verdict.result import PART_NAMES, Finding

_UNITS = {rating.key: rating.unit for rating in RATINGS}


@dataclass(frozen=True)
class _Outcome:
    """The chosen amplifier over all operating points: worst stresses, and the settings it needs [F]."""

    used: Mapping[Check, float]
    columns: Mapping[Check, Column]
    needed: Mapping[str, tuple[float, float]]


def settle(amplifier: Amplifier, solution: Solution) -> tuple[Move, ...]:
    """Turn the search's choice into moves with definite values.

    Parameters
    ----------
    amplifier : Amplifier
        The amplifier as it stands.
    solution : Solution
        What the search chose, its replaced capacitors as wide as they can be had.

    Returns
    -------
    tuple of Move
        Parts first, then bands in file order.

    Notes
    -----
    The least capacitance of a replaced capacitor is the highest usual one that the settings keep clear of;
    the largest stays unless a setting needs more. A rating is the next preferred number that leaves it used
    less than what counts as close.
    """
    description = amplifier.description
    bands = tuple(solution.band_moves())
    moves = [*solution.configuration.moves, *bands]
    outcome = _outcome(amplifier, applied(description, [edit for move in moves for edit in move.edits]))
    parts: list[Move] = []
    for move in solution.configuration.moves:
        name = move.place.removeprefix("network.")
        if name in ("tune_capacitor", "load_capacitor"):
            parts += _capacitor(description, name, outcome)
        else:
            parts.append(_with_ratings(description, move, name, outcome))
    done = {move.place for move in parts}
    for name in sorted(solution.selection.replaced):
        if f"network.{name}" not in done and (asked := _asked(description, name, outcome)):
            parts.append(higher_rating(description, name, asked))
    return (*parts, *with_switch(description, bands))


def raise_ratings(
    description: Description, moves: Sequence[Move], remaining: Sequence[Finding]
) -> tuple[Move, ...]:
    """Add ratings to the moves for findings that are still over; the moves themselves where none helps."""
    asked: dict[str, dict[str, float]] = {}
    for finding in remaining:
        rule = next((rule for rule in RATINGS if rule.code == finding.code), None)
        if rule is None or finding.value is None or getattr(description.network, finding.part, None) is None:
            continue
        wanted = step_up(finding.value / description.limits.close_to_rating)
        present = effective_rating(getattr(description.network, finding.part), rule.key)
        if present is not None and wanted <= HIGHEST_RATING * present:
            ratings = asked.setdefault(finding.part, {})
            ratings[rule.key] = max(ratings.get(rule.key, 0.0), wanted)
    verdict = list(moves)
    for part, ratings in asked.items():
        rated = higher_rating(
            description, part, [(key, _UNITS[key], value) for key, value in ratings.items()]
        )
        place = next((n for n, move in enumerate(verdict) if move.place == rated.place), None)
        if place is None:
            verdict.insert(0, rated)
        else:
            title = f"{verdict[place].title}, {rated.title.partition(': ')[2]}"
            verdict[place] = replace(verdict[place], title=title, edits=(*verdict[place].edits, *rated.edits))
    return tuple(verdict)


def with_switch(description: Description, moves: Sequence[Move]) -> tuple[Move, ...]:
    """Let the segments of the switch follow the taps: a segment that no band uses any more is moved along."""
    coil = description.network.coil
    moved = {e.path[1]: e.value for move in moves for e in move.edits if e.path[-1] == "coil_turns"}
    if not coil.taps or not moved:
        return tuple(moves)
    after = [moved.get(index, band.coil_turns) for index, band in enumerate(description.bands)]
    left = {description.bands[int(index)].coil_turns for index in moved} - set(after)
    taps = sorted(({*coil.taps} - left) | set(moved.values()))
    edit = Edit(("network", "coil", "taps"), tuple(taps), taps)
    last = max(n for n, move in enumerate(moves) if any(e.path[-1] == "coil_turns" for e in move.edits))
    return tuple(
        replace(move, edits=(*move.edits, edit)) if n == last else move for n, move in enumerate(moves)
    )


def _outcome(amplifier: Amplifier, description: Description) -> _Outcome:
    solved = solve(amplifier, description, assemble(amplifier, description))
    verdict = score(solved)
    used = {check: float(column.used.max()) for check, column in verdict.items()}
    needed = {side: getattr(solved.settings, f"{side}_needed") for side in ("tune", "load")}
    ends = {side: (float(np.nanmin(v)), float(np.nanmax(v))) for side, v in needed.items()}
    return _Outcome(used, verdict, ends)


def _asked(description: Description, name: str, outcome: _Outcome) -> list[tuple[str, str, float]]:
    """Ratings of a part that must rise, so that none is close any more."""
    highest: dict[str, float] = {}
    for check, used in outcome.used.items():
        column = outcome.columns[check]
        if check.part == name and column.rating is not None and used > column.close:
            wanted = step_up(used * column.limit / column.close)
            if wanted > step_up(HIGHEST_RATING * column.limit):
                continue  # out of the question, so it remains over and is told so
            highest[column.rating] = max(highest.get(column.rating, 0.0), wanted)
    return [(key, _UNITS[key], value) for key, value in highest.items()]


def _with_ratings(description: Description, move: Move, name: str, outcome: _Outcome) -> Move:
    """Add the ratings that a part, replaced for another reason, needs anyway."""
    if name not in PART_NAMES or getattr(description.network, name) is None:
        return move
    asked = _asked(description, name, outcome)
    if not asked:
        return replace(move, edits=(*move.edits, *source_edits(description, name)))
    rated = higher_rating(description, name, asked)
    return replace(
        move, title=f"{move.title}, {rated.title.partition(': ')[2]}", edits=(*move.edits, *rated.edits)
    )


def _capacitor(description: Description, name: str, outcome: _Outcome) -> list[Move]:
    """Narrow a replaced capacitor to the range that is needed."""
    part = getattr(description.network, name)
    close = description.limits.close_to_rating
    lowest, highest = outcome.needed[name.partition("_")[0]]
    edits: list[Edit] = []
    words = []
    if part.minimum > lowest * close:
        minimum = minimum_below(lowest * close) or minimum_below(lowest) or MINIMA[0]
        if minimum < part.minimum:
            edits.append(quantity_edit(("network", name, "minimum"), minimum, "F"))
            words.append(f"minimum {edits[-1].text} instead of {written(part.minimum, 'F')}")
    if highest > part.maximum:
        edits.append(quantity_edit(("network", name, "maximum"), step_up(highest / close), "F"))
        words.append(f"maximum {edits[-1].text} instead of {written(part.maximum, 'F')}")
    asked: Sequence[tuple[str, str, float]] = _asked(description, name, outcome)
    rated = higher_rating(description, name, asked) if asked else None
    if rated is not None:
        words.append(rated.title.partition(": ")[2])
        edits += rated.edits
    elif edits:
        edits += source_edits(description, name)
    if not edits:
        return []
    title = f"another {name.replace('_', ' ')}: {', '.join(words)}"
    return [Move("part", f"network.{name}", None, title, tuple(edits))]
