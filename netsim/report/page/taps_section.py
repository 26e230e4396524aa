"""The section on taps: where each band's tap is, where it should be, and the coil to scale."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from netsim.advice.taps.coil_picture import coil_picture
from netsim.advice.taps.tap_advice import BandTaps, TapsAdvice, TapState
from netsim.advice.taps.tap_words import plate_loads
from netsim.analysis import Analysis
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.figures.coil_figure import coil_figure
from netsim.report.notation import band_anchor, tuned_words

_COILS: dict[Literal["coil", "output_coil"], tuple[str, str]] = {
    "coil": ("tank coil", "plate"),
    "output_coil": ("output coil", "network"),
}
_UNUSED = {
    "strap": "one loop from the tap to the far end",
    "progressive": "a loop between every two contacts",
    "open": "open",
}


@dataclass(frozen=True)
class Tap:
    """One tap, written out."""

    place: str = NOTHING
    settings: tuple[str, ...] = ()
    loaded_q: str = NOTHING


@dataclass(frozen=True)
class TapRow:
    """One band, written out."""

    band: str
    target: str
    present: Tap
    match: str
    proposed: Tap
    plate_loads: str
    message: str


@dataclass(frozen=True)
class CoilDrawing:
    """A wound coil.

    `end` is where its turns are counted from; `to_scale` is False with a toroid, whose size is not known;
    `moves` tells whether a tap is proposed, `contacts` whether the switch's are known.
    """

    name: str
    end: str
    unused_turns: str
    to_scale: bool
    moves: bool
    contacts: bool
    drawing: Markup


@dataclass(frozen=True)
class TapsSection:
    """The rows, the coils that are wound, what the proposals aim at; and whether a band has no turns."""

    rows: tuple[TapRow, ...]
    coils: tuple[CoilDrawing, ...]
    target_loaded_q: str
    without_turns: bool


def taps_section(result: Analysis, advice: TapsAdvice | None) -> TapsSection | None:
    """Write out taps and draw the coil; None where there is neither advice nor a wound coil.

    Without advice the drawing shows the taps in use alone.
    """
    coils = tuple(_coils(result, advice))
    if advice is None and not coils:
        return None
    known = {band.name: band_anchor(index) for index, band in enumerate(result.verdict.bands)}
    bands = () if advice is None else tuple(band for band in advice.bands if band.name in known)
    return TapsSection(
        rows=tuple(_row(band, known[band.name]) for band in bands),
        coils=coils,
        target_loaded_q="" if advice is None else format_quantity(advice.target_loaded_q, "1", trim=True),
        without_turns=any(band.present is not None and band.present.coil_turns is None for band in bands),
    )


def _coils(result: Analysis, advice: TapsAdvice | None) -> Iterator[CoilDrawing]:
    for key, (name, end) in _COILS.items():
        picture = coil_picture(result, advice, key)
        if picture is not None:
            kinds = {mark.kind for mark in picture.marks}
            yield CoilDrawing(
                name,
                end,
                _UNUSED[picture.unused_turns],
                all(run.kind == "solenoid" for run in picture.runs),
                "proposed" in kinds,
                "segment" in kinds,
                coil_figure(picture, f"{key.replace('_', '-')}-picture", name, end),
            )


def _row(band: BandTaps, target: str) -> TapRow:
    return TapRow(
        band=band.name,
        target=target,
        present=_tap(band.present),
        match=tuned_words(band.present is not None and band.present.tuned),
        proposed=_tap(band.proposed),
        plate_loads=plate_loads(band.plate_load_range_ohm),
        message=band.message,
    )


def _tap(state: TapState | None) -> Tap:
    """Write a tap in turns and inductance, or the inductance alone."""
    if state is None:
        return Tap()
    inductance = format_quantity(state.coil_henry, "H")
    place = inductance if state.coil_turns is None else f"{state.coil_turns:g} turns, {inductance}"
    tune, load = format_quantity(state.tune_farad, "F"), format_quantity(state.load_farad, "F")
    return Tap(place, (f"tune {tune}", f"load {load}"), format_quantity(state.loaded_q, "1"))
