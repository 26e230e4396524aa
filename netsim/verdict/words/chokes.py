"""Plate choke, blocking capacitor, output choke."""

import numpy as np

from netsim.verdict.checks.chokes import guessed_resonance
from netsim.verdict.judged import Judged, NotRated
from netsim.verdict.solved import Solved
from netsim.verdict.words.text import Text, at, written


def choke_reactance(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the choke's reactance against the plate load."""
    value, load = float(judged.value[row]), float(judged.limit[row])
    choke = solved.description.network.plate_choke
    assert choke is not None
    alone = 2 * np.pi * solved.frequency[row] * choke.inductance
    across = np.broadcast_to(solved.assembly.parts.plate_choke_capacitance, solved.frequency.shape)[row]
    kind = (
        ""
        if not across
        else f", with {written(across, 'F')} across it {'inductive' if value > alone else 'capacitive'}"
    )
    return Text(
        f"plate choke: {written(value, 'ohm')} at {at(solved, row)}, plate load {written(load, 'ohm')}",
        f"{written(alone, 'ohm')} of inductance{kind}; where that is less than the plate load the choke carries much "
        "of the RF; a guide and no rating, so that this is never more than close",
    )


def choke_resonance(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell where the nearest series resonance lies."""
    band = solved.assembly.band_index == solved.assembly.band_index[row]
    low, high = float(solved.frequency[band].min()), float(solved.frequency[band].max())
    runs = f"the band runs from {written(low, 'Hz')} to {written(high, 'Hz')}"
    choke = solved.description.network.plate_choke
    assert choke is not None
    if not choke.series_resonances:
        assert choke.winding is not None
        guess = guessed_resonance(choke.winding)
        return Text(
            f"plate choke: first series resonance guessed at {written(guess.estimate, 'Hz', 3)}, "
            f"{written(guess.low, 'Hz', 3)} to {written(guess.high, 'Hz', 3)}, and more above it",
            f"a guess from turns, diameter and length by the speed of a wave along a helix; {runs}; only a "
            "measurement with the ends shorted together tells",
        )
    nearest, edge = float(judged.value[row]), float(judged.limit[row])
    away = 0.0 if low <= nearest <= high else abs(nearest - edge) / edge
    where = "inside the band" if away == 0 else f"{away:.1%} outside the band"
    return Text(
        f"plate choke: series resonance at {written(nearest, 'Hz')}, {where}",
        "at a series resonance the choke is a short piece of its own winding: high voltage inside it, heat, "
        f"loss of output; {runs}",
    )


def resonance_not_known(solved: Solved, unrated: NotRated) -> Text:
    """Tell that no series resonance was given."""
    return Text(
        "plate choke: its series resonances are not in the file, so not judged",
        "a series resonance inside a band burns the choke; it cannot be computed from the inductance",
        'measure with the ends shorted and add series_resonances = ["..."] under [network.plate_choke]',
    )


def antenna_dc(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell that the supply reaches the antenna."""
    supply = float(judged.value[row])
    return Text(
        f"no blocking capacitor: {written(supply, 'V')} DC on coil, capacitors and antenna",
        "the plate supply reaches everything behind the plate choke",
    )


def no_output_choke(solved: Solved, unrated: NotRated) -> Text:
    """Tell that nothing holds the antenna at ground."""
    return Text(
        "no output choke: nothing holds the antenna at ground if the blocking capacitor fails",
        "a choke from antenna terminal to chassis lets a shorted blocking capacitor blow the fuse",
        "add [network.output_choke] with its inductance, for example 1 mH and more at 3.5 MHz",
    )
