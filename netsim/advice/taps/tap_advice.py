"""What is said about the taps of a coil: the dataclasses that JSON shows key by key."""

from dataclasses import dataclass

from netsim.advice.taps.tap_obstacle import Obstacle
from netsim.verdict.result import RemedyEdit


@dataclass(frozen=True)
class TapState:
    """One tap in one band, solved; tuned is so at every frequency of it, all else is that of its first.

    ``coil_turns`` are counted from the plate end; None where the file gives an inductance.
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
    alone, alone_loaded_q : float or None
        Where this band would have its tap if it shared it with none [turns], and the loaded Q there.
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
