"""The section on taps: where each band's tap is, where it should be, and the coil to scale."""

from dataclasses import dataclass

from markupsafe import Markup

from netsim.advice.coil_picture import coil_picture
from netsim.advice.tap_advice import BandTaps, TapsAdvice, TapState
from netsim.advice.tap_words import plate_loads
from netsim.description.formatting import NOTHING, format_quantity
from netsim.study import Study

from .coil_figure import coil_figure
from .notation import band_anchor


@dataclass(frozen=True)
class TapRow:
    """One band, written out."""

    band: str
    target: str
    present: str
    present_q: str
    tuned: bool
    proposed: str
    proposed_q: str
    plate_loads: str
    message: str


@dataclass(frozen=True)
class TapsSection:
    """The rows, the drawing where the coil is wound, and what the proposals aim at."""

    rows: tuple[TapRow, ...]
    drawing: Markup | None
    unused_turns: str
    target_loaded_q: str


def taps_section(study: Study, advice: TapsAdvice | None) -> TapsSection | None:
    """Write out taps and draw the coil; None where there is neither advice nor a wound coil.

    Parameters
    ----------
    study : Study
        Solved.
    advice : TapsAdvice or None
        For the same file; without it the drawing shows the taps in use alone.
    """
    picture = coil_picture(study, advice)
    if advice is None and picture is None:
        return None
    known = {band.name: band_anchor(index) for index, band in enumerate(study.result.bands)}
    bands = () if advice is None else tuple(band for band in advice.bands if band.name in known)
    return TapsSection(
        rows=tuple(_row(band, known[band.name]) for band in bands),
        drawing=None if picture is None else coil_figure(picture, "coil-picture"),
        unused_turns="" if picture is None else picture.unused_turns,
        target_loaded_q="" if advice is None else format_quantity(advice.target_loaded_q, "1", trim=True),
    )


def _row(band: BandTaps, target: str) -> TapRow:
    return TapRow(
        band=band.name,
        target=target,
        present=_place(band.present),
        present_q=format_quantity(band.present.loaded_q, "1"),
        tuned=band.present.tuned,
        proposed=NOTHING if band.proposed is None else _place(band.proposed),
        proposed_q=NOTHING if band.proposed is None else format_quantity(band.proposed.loaded_q, "1"),
        plate_loads=plate_loads(band.plate_load_range_ohm),
        message=band.message,
    )


def _place(state: TapState) -> str:
    """Write a tap in turns and inductance, or the inductance alone."""
    inductance = format_quantity(state.coil_henry, "H")
    return inductance if state.coil_turns is None else f"{state.coil_turns:g} turns, {inductance}"
