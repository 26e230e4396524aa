"""What the meters do and which antennas can be matched, in words: the same on the page and in the terminal."""

from collections.abc import Iterator

import numpy as np

from netsim.analysis import Analysis
from netsim.description.formatting import format_quantity
from netsim.verdict.any_antenna import AnyAntenna
from netsim.verdict.meters import Meters, Readings
from netsim.verdict.result import Finding
from netsim.verdict.words.antennas import share_in_words
from netsim.verdict.words.parts import SITUATIONS

_NOTICEABLE = 1.005
"""Plate current at the match over the least one, above which the dip counts as elsewhere."""


def as_set(meters: Meters) -> str:
    """Say what the solved settings are: the match, or what stands for it where none is within range."""
    return "at the match" if meters.tuned else "as set, not matched"


def dip_words(meters: Meters) -> str:
    """Tell the plate current as set and with the tune capacitor turned away from it, in a clause of its own.

    A side on which the capacitor's range ends at the match is left out.
    """
    readings, at = meters.by_tune, meters.matched_tune
    ends = [end for end in (0, len(readings.tune) - 1) if readings.tune[end] != readings.tune[at]]
    detuned = " or ".join(_at_tune(readings, end) for end in ends)
    least = int(np.argmin(readings.plate_current_dc))
    told = f"{_ampere(readings, at)} {as_set(meters)} (tune {_tune(readings, at)})"
    if readings.plate_current_dc[at] > _NOTICEABLE * readings.plate_current_dc[least]:
        told += f", least {_at_tune(readings, least)}"
    return f"{told}; detuned {detuned}" if detuned else told


def loading_words(meters: Meters) -> str:
    """Tell what light and heavy loading do to plate current and output, the tune capacitor dipped at each."""
    readings = meters.by_load
    ways = ("lightly loaded", "heavily loaded") if meters.tuned else ("more load capacitance", "less of it")
    sides = zip(ways, (meters.light, meters.heavy), strict=True)
    told = [
        f"{way} (load {format_quantity(float(readings.load[at]), 'F')}) {_ampere(readings, at)}, "
        f"output {format_quantity(float(readings.output_power[at]), 'W')}"
        for way, at in sides
        if at != meters.matched_load
    ]
    return "; ".join(told)


def gone_words(meters: Meters) -> str:
    """Tell the plate current after the antenna has come off, before and after the dip is sought again."""
    gone = meters.antenna_gone
    return (
        f"antenna gone {_ampere(gone, 0)}, dipped again {_ampere(gone, 1)} with the plate swinging to "
        f"{format_quantity(float(gone.plate_voltage_minimum[1]), 'V')}"
    )


def grid_words(meters: Meters) -> str:
    """Tell the grid current as set, and its highest on the way there; a sentence, empty where it is not known."""
    highest, readings = meters.grid_current, meters.by_tune
    if highest is None or readings.grid_current_dc is None:
        return ""
    now = format_quantity(float(readings.grid_current_dc[meters.matched_tune]), "A")
    return (
        f"Grid current, by the tube's law here: {now} {as_set(meters)}, at most "
        f"{format_quantity(highest.value, 'A')} ({SITUATIONS[highest.situation]})."
    )


def share_words(found: AnyAntenna, row: int) -> str:
    """Tell how many of the antennas cannot be matched in one network, as "about a third, 30 %"."""
    share = float(found.unmatched_share[row])
    if found.swr is None:
        return "it cannot" if share else "it can be matched"
    return f"{share_in_words(share)}, {100 * share:.0f} %" if 0 < share < 1 else share_in_words(share)


def least_matched_row(found: AnyAntenna, rows: "np.ndarray[tuple[int, ...], np.dtype[np.intp]]") -> int:
    """Choose the network of a band that matches the smallest share, then the one with the worst plate match."""
    worst = np.where(np.isnan(found.plate_swr[rows]), np.inf, found.plate_swr[rows]).max(axis=1)
    return int(rows[np.lexsort((worst, found.unmatched_share[rows]))[-1]])


def most_used(result: Analysis, band: str) -> Finding | None:
    """Find the part of a band that its worst antenna drives furthest."""
    found = [f for f in _any_antenna(result) if f.band == band and f.code not in _NO_PART]
    return max(found, key=lambda finding: finding.used_fraction or 0.0, default=None)


_NO_PART = ("plate_match", "harmonic_spread", "harmonic_level")


def _any_antenna(result: Analysis) -> Iterator[Finding]:
    return (finding for finding in result.verdict.findings if finding.case == "any_antenna")


def _at_tune(readings: Readings, at: int) -> str:
    return f"{_ampere(readings, at)} ({_tune(readings, at)})"


def _ampere(readings: Readings, at: int) -> str:
    return format_quantity(float(readings.plate_current_dc[at]), "A")


def _tune(readings: Readings, at: int) -> str:
    return format_quantity(float(readings.tune[at]), "F")
