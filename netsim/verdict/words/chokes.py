"""Plate choke, blocking capacitor, output choke."""

from netsim.verdict.judged import Judged, NotRated
from netsim.verdict.solved import Solved
from netsim.verdict.words.text import Text, at, written


def choke_reactance(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the choke's reactance against the plate load."""
    load = float(judged.limit[row])
    return Text(
        f"plate choke: {written(judged.value[row], 'ohm')} at {at(solved, row)}, plate load {written(load, 'ohm')}",
        "2 pi f L at the band's lowest frequency; below the plate load the choke carries much of the RF",
    )


def choke_resonance(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell where the nearest series resonance lies."""
    band = solved.assembly.band_index == solved.assembly.band_index[row]
    low, high = float(solved.frequency[band].min()), float(solved.frequency[band].max())
    nearest, edge = float(judged.value[row]), float(judged.limit[row])
    away = 0.0 if low <= nearest <= high else abs(nearest - edge) / edge
    where = "inside the band" if away == 0 else f"{away:.0%} outside the band"
    return Text(
        f"plate choke: series resonance at {written(nearest, 'Hz')}, {where}",
        "at a series resonance the choke is a short piece of its own winding: high voltage inside it, heat, "
        f"loss of output; the band runs from {written(low, 'Hz')} to {written(high, 'Hz')}",
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
