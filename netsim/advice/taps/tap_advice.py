"""What is said about the taps of a coil: the dataclasses, and their tables for JSON."""

from dataclasses import asdict, dataclass
from typing import Any

from netsim.advice.taps.tap_obstacle import Obstacle
from netsim.verdict.result import RemedyEdit


@dataclass(frozen=True)
class TapState:
    """One tap in one band, solved. Loaded Q and settings are those at the band's first frequency.

    Attributes
    ----------
    coil_turns : float or None
        From the plate end; None where the file gives an inductance.
    tuned : bool
        At every frequency of the band.
    """

    coil_turns: float | None
    loaded_q: float
    tuned: bool
    coil_henry: float
    tune_farad: float
    load_farad: float
    frequency_hertz: float


@dataclass(frozen=True)
class BandTaps:
    """What can be said of the tap of one band.

    Attributes
    ----------
    present : TapState or None
        None where the file does not say yet where the tap is.
    proposed : TapState or None
        At the place nearest to the target, solved like the present one; None where no tap serves, or the
        file gives an inductance.
    plate_load_range_ohm : tuple of float or None
        Plate loads that the present tap serves with these capacitors; none beyond 50 ohm to
        50 kohm is tried.
    move_turns : float or None
        From the present to the proposed tap; above 0 away from the plate end.
    shared_with : tuple of str
        Other bands on the same tap, moved with it.
    alone : float or None
        Where this band would have its tap if it shared it with none [turns].
    alone_loaded_q : float or None
        The loaded Q it would have there.
    obstacle : Obstacle or None
        What keeps any tap from serving, or the loaded Q from its target.
    message : str
        All this in words.
    """

    name: str
    present: TapState | None
    proposed: TapState | None
    plate_load_range_ohm: tuple[float, float] | None
    move_turns: float | None
    shared_with: tuple[str, ...]
    alone: float | None
    alone_loaded_q: float | None
    obstacle: Obstacle | None
    message: str


@dataclass(frozen=True)
class TapsAdvice:
    """Taps of all bands, for one plate load [ohm] and one target of the loaded Q.

    ``edits`` write the proposals into the file, the contacts of the switch with them.
    """

    schema_version: int
    title: str
    plate_load_ohm: float
    target_loaded_q: float
    cross_checked: bool
    bands: tuple[BandTaps, ...]
    edits: tuple[RemedyEdit, ...] = ()


def as_tables(advice: TapsAdvice) -> dict[str, Any]:
    """Give the advice as nested dicts and lists, key by key as in its dataclasses, for JSON.

    Every number in it is finite; what does not exist is None.
    """
    return asdict(advice)
