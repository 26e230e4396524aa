"""What is to be done with a tap, in a sentence or two."""

import numpy as np

from netsim.advice.taps.tap_advice import TapState
from netsim.advice.taps.tap_choice import Choice
from netsim.advice.taps.tap_obstacle import Rows
from netsim.advice.taps.tap_search import HIGHEST_LOAD, LOWEST_LOAD, TapSearch
from netsim.analysis import Result
from netsim.circuit.coil_choice import coil_for_loaded_q
from netsim.circuit.sections import loaded_q
from netsim.description.formatting import format_quantity

_SAME = 1e-6


def without_winding(walked: Result, rows: Rows, now: TapState) -> str:
    """Say of a coil given by its inductance which one the target of the loaded Q wants."""
    target = walked.amplifier.description.limits.target_loaded_q
    parts = walked.solved.assembly.parts.take(rows)
    floor = float(loaded_q(parts, parts.tune_minimum).max())
    if floor > target:
        return (
            f"the band gives an inductance, {format_quantity(now.coil_henry, 'H')}, and no turns; a loaded Q of "
            f"{target:g} is out of reach: with the tune capacitor at its minimum it is {floor:.1f} already"
        )
    wanted = float(coil_for_loaded_q(parts.take(np.array([0])), target)[0])
    would = (
        f"no coil gives a loaded Q of {target:g}"
        if np.isnan(wanted)
        else f"a loaded Q of {target:g} wants {format_quantity(wanted, 'H')}"
    )
    return f"the band gives an inductance, {format_quantity(now.coil_henry, 'H')}, and no turns; {would}"


def message(
    walked: Result,
    now: TapState,
    proposed: TapState | None,
    choice: Choice,
    alone: Choice,
    found: TapSearch,
    others: tuple[str, ...],
    row: int,
) -> str:
    """Say how far and which way a tap is to be moved, what is in the way, and what sharing it costs."""
    sentences = []
    if proposed is None:
        sentences.append(
            "no tap serves all of the band"
            + (f" and {' and '.join(others)}" if others else "")
            + (" at every operating point" if choice.held_by else "")
        )
    else:
        sentences.append(_move(now, proposed))
        low, high = walked.amplifier.description.limits.loaded_q
        if not low <= proposed.loaded_q <= high:
            sentences.append(f"that is still outside limits.loaded_q, {low:g} to {high:g}")
    if choice.held_by and choice.free is not None:
        points = " and ".join(repr(name) for name in choice.held_by)
        turns, q = float(found.turns[choice.free]), float(found.loaded_q[choice.free, row])
        sentences.append(
            f"without operating point {points}, not to be tuned there, it would be at {turns:g} turns with a loaded Q "
            f"of {q:.1f}"
        )
    if choice.obstacle is not None:
        target = walked.amplifier.description.limits.target_loaded_q
        sentences.append(f"for a loaded Q of {target:g}, {choice.obstacle.message}")
    if others and alone.place is not None and alone.place != choice.place:
        turns, q = float(found.turns[alone.place]), float(found.loaded_q[alone.place, row])
        lost = "" if proposed is None else f", so sharing costs {abs(proposed.loaded_q - q):.1f} of loaded Q"
        sentences.append(
            f"shared with {' and '.join(others)}; alone it would be at {turns:g} turns with a loaded Q of {q:.1f}{lost}"
        )
    elif others:
        sentences.append(f"shared with {' and '.join(others)} at no loss")
    return "; ".join(sentences)


def plate_loads(span: tuple[float, float] | None) -> str:
    """Say between which plate loads a tap tunes; an end of what was tried is no end of what it serves."""
    if span is None:
        return "none"
    low, high = (format_quantity(load, "ohm") for load in span)
    if span[1] >= HIGHEST_LOAD:
        return "any" if span[0] <= LOWEST_LOAD else f"from {low}"
    return f"up to {high}" if span[0] <= LOWEST_LOAD else f"{low} to {high}"


def _move(now: TapState, proposed: TapState) -> str:
    here, there = now.coil_turns or 0.0, proposed.coil_turns or 0.0
    change = f"loaded Q {now.loaded_q:.1f} to {proposed.loaded_q:.1f}"
    if abs(there - here) < _SAME:
        return f"leave the tap at {here:g} turns, loaded Q {now.loaded_q:.1f}"
    way = "away from the plate end" if there > here else "towards the plate end"
    moved = abs(there - here)
    return f"move the tap {moved:.4g} turn{'' if moved == 1 else 's'} {way}, from {here:g} to {there:g} turns: {change}"
