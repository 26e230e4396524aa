"""Why the smallest change has a tap elsewhere than the advice on taps: one band, one word on both."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from netsim.advice.band_networks import BandNetworks
from netsim.advice.change import Change, applied, edits_of, plain_edit, with_contacts
from netsim.advice.outcome import CLOSE, OVER
from netsim.advice.remedy_words import named
from netsim.advice.taps.tap_advice import BandTaps, TapsAdvice
from netsim.advice.taps.taps import proposed_turns
from netsim.description.reader import Amplifier

if TYPE_CHECKING:
    from netsim.advice.fix.fix import Fix

_SAME = 1e-6


def with_reasons(advice: TapsAdvice, fix: "Fix") -> TapsAdvice:
    """Return the advice on taps, saying of each band why the smallest change has its tap elsewhere.

    The advice is for the target of the loaded Q with the parts as they are, the fix for nothing over.
    """
    return replace(advice, bands=tuple(_banded(advice, fix)))


def _banded(advice: TapsAdvice, fix: "Fix") -> Iterator[BandTaps]:
    fixed = fix.after.amplifier
    for index, band in enumerate(advice.bands):
        there = fixed.description.bands[index].coil_turns
        proposed = None if band.proposed is None else band.proposed.coil_turns
        present = None if band.present is None else band.present.coil_turns
        if there is None or proposed is None or abs(there - proposed) < _SAME:
            yield band
        elif present is not None and abs(there - present) < _SAME:
            why = "nothing over asks for it, so the smallest change leaves it"
            yield replace(band, message=f"{band.message}; {why}")
        else:
            yield replace(band, message=f"{band.message}; {_reason(fixed, index, there, proposed)}")


def moved_elsewhere(amplifier: Amplifier, fixed: Amplifier) -> dict[str, str]:
    """Return by band why a tap that a change moves goes elsewhere than the advice on taps has it."""
    pairs = zip(amplifier.description.bands, fixed.description.bands, strict=True)
    moved = {
        index: now.coil_turns
        for index, (was, now) in enumerate(pairs)
        if was.coil_turns is not None
        and now.coil_turns is not None
        and abs(now.coil_turns - was.coil_turns) >= _SAME
    }
    advised = proposed_turns(amplifier) if moved else {}
    target = amplifier.description.limits.target_loaded_q
    return {
        amplifier.description.bands[
            index
        ].name: f"netsim taps has the tap at {advised[index]:g} turns, nearest to a "
        f"loaded Q of {target:g} with the parts as they are; {_reason(fixed, index, there, advised[index])}"
        for index, there in moved.items()
        if index in advised and abs(advised[index] - there) >= _SAME
    }


def _reason(fixed: Amplifier, index: int, there: float, proposed: float) -> str:
    """Hold the two places against each other, with the parts of the smallest change."""
    description = fixed.description
    edit = plain_edit(("bands", index, "coil_turns"), proposed)
    change = Change("tap", f"bands[{index}].coil_turns", description.bands[index].name, "", (edit,))
    other = applied(description, edits_of(with_contacts(description, [change])))
    here, elsewhere = (BandNetworks.standing(fixed, some).outcome() for some in (description, other))
    start = f"the smallest change has it at {there:g} turns"
    step = elsewhere.only(here.checks).state - here.state
    place, _, _ = np.unravel_index(int(np.argmax(step)), step.shape)
    if step.max() > 0:
        state = int(elsewhere.only(here.checks).state[place].max())
        word = {OVER: "over", CLOSE: "close"}.get(state, "worse")
        return (
            f"{start}: at {proposed:g} turns {named(here.checks[place])} would be {word} with its other parts"
        )
    if here.off_target[index] < elsewhere.off_target[index]:
        return f"{start}: with its other parts the loaded Q is nearer to the target there"
    return f"{start}: its other changes ask for no more"
