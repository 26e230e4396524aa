"""What is to be done with a tap, in a sentence or two."""

from netsim.advice.taps.tap_advice import TapState
from netsim.advice.taps.tap_choice import Choice
from netsim.advice.taps.tap_search import HIGHEST_LOAD, LOWEST_LOAD
from netsim.circuit.sections import loaded_q
from netsim.description.formatting import format_quantity
from netsim.description.models.amplifier import Limits

_SAME = 1e-6


def without_winding(limits: Limits, now: TapState, choice: Choice) -> str:
    """Say of a coil given by its inductance which one the target of the loaded Q wants."""
    target, found = limits.target_loaded_q, choice.found
    start = f"the band gives an inductance, {format_quantity(now.coil_henry, 'H')}, and no turns; "
    floor = float(loaded_q(found.parts, found.parts.tune_minimum).max())
    if floor > target:
        return (
            f"{start}a loaded Q of {target:g} is out of reach: with the tune capacitor at its minimum it is "
            f"{floor:.1f} already"
        )
    if choice.place is None:
        why = "" if choice.obstacle is None else f": {choice.obstacle.message}"
        return f"{start}no coil tunes all of the band{why}"
    coil, q = (float(values[choice.place, 0]) for values in (found.inductance, found.loaded_q))
    return f"{start}a loaded Q of {target:g} wants {format_quantity(coil, 'H')}, which gives {q:.1f}"


def message(
    limits: Limits,
    now: TapState | None,
    proposed: TapState | None,
    choice: Choice,
    alone: Choice,
    others: tuple[str, ...],
) -> str:
    """Say how far and which way a tap is to be moved, what is in the way, and what sharing it costs."""
    sentences = []
    found = choice.found
    if proposed is None:
        sentences.append(
            "no tap serves all of the band"
            + (f" and {' and '.join(others)}" if others else "")
            + (" at every operating point" if choice.held_by else "")
        )
    else:
        sentences.append(_move(now, proposed))
        low, high = limits.loaded_q
        if not low <= proposed.loaded_q <= high:
            sentences.append(f"that is still outside limits.loaded_q, {low:g} to {high:g}")
    if choice.held_by and choice.free is not None:
        points = " and ".join(repr(name) for name in choice.held_by)
        turns, q = float(found.turns[choice.free]), float(found.loaded_q[choice.free, 0])
        sentences.append(
            f"without operating point {points}, not to be tuned there, it would be at {turns:g} turns with a loaded Q "
            f"of {q:.1f}"
        )
    if choice.obstacle is not None:
        sentences.append(f"for a loaded Q of {limits.target_loaded_q:g}, {choice.obstacle.message}")
    if others and alone.place is not None and alone.place != choice.place:
        turns, q = float(found.turns[alone.place]), float(found.loaded_q[alone.place, 0])
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


def _move(now: TapState | None, proposed: TapState) -> str:
    there = proposed.coil_turns or 0.0
    if now is None:
        return f"put the tap at {there:g} turns: loaded Q {proposed.loaded_q:.1f}"
    here = now.coil_turns or 0.0
    change = f"loaded Q {now.loaded_q:.1f} to {proposed.loaded_q:.1f}"
    if abs(there - here) < _SAME:
        return f"leave the tap at {here:g} turns, loaded Q {now.loaded_q:.1f}"
    way = "away from the plate end" if there > here else "towards the plate end"
    moved = abs(there - here)
    return f"move the tap {moved:.4g} turn{'' if moved == 1 else 's'} {way}, from {here:g} to {there:g} turns: {change}"
