"""Where the power goes, a table for each band, and why one band gives less than another."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from netsim.advice.bench.bench import Pointer
from netsim.description.formatting import format_quantity, percent
from netsim.report.bench_words import loss_range, place_name, plate_power, pointer_words, why_less
from netsim.report.notation import band_anchor
from netsim.report.page.bars import amount_bar
from netsim.verdict.losses import OUTPUT
from netsim.verdict.result import BandResult, Loss


@dataclass(frozen=True)
class LossRow:
    """One place where power goes; the bar is on the scale of the largest loss of any band."""

    place: str
    watt: str
    share: str
    bar: Markup
    limits: str


@dataclass(frozen=True)
class LossTable:
    """One band at its frequency of least output; ``whole`` is the power into the plate load."""

    band: str
    target: str
    frequency: str
    whole: str
    output: LossRow
    rows: tuple[LossRow, ...]
    together: str
    together_share: str
    most: str


@dataclass(frozen=True)
class Losses:
    """All tables, and what they come to.

    ``sampled`` tells whether there are ranges; ``pointers`` is what output readings make of them.
    """

    tables: tuple[LossTable, ...]
    why_less: str
    sampled: bool
    pointers: tuple[str, ...]


def losses(bands: Sequence[BandResult], pointers: Sequence[Pointer] = ()) -> Losses:
    """Write out the loss tables of a result, with what output readings say of them."""
    lost = [loss for band in bands for loss in band.losses if loss.place != OUTPUT]
    scale = max((loss.watt for loss in lost), default=0.0)
    return Losses(
        tables=tuple(_table(index, band, scale) for index, band in enumerate(bands)),
        why_less=why_less(bands),
        sampled=any(loss.watt_low is not None for loss in lost),
        pointers=tuple(pointer_words(pointer) for pointer in pointers),
    )


def _table(index: int, band: BandResult, scale: float) -> LossTable:
    whole = plate_power(band.losses)
    output = next(loss for loss in band.losses if loss.place == OUTPUT)
    lost = [loss for loss in band.losses if loss.place != OUTPUT and (loss.watt or loss.watt_high)]
    together = sum(loss.watt for loss in lost)
    most = max(lost, key=lambda loss: loss.watt, default=None)
    return LossTable(
        band=band.name,
        target=band_anchor(index),
        frequency=format_quantity(band.losses_at_hertz, "Hz"),
        whole=format_quantity(whole, "W"),
        output=_row(output, scale),
        rows=tuple(_row(loss, scale) for loss in lost),
        together=format_quantity(together, "W"),
        together_share=percent(together / whole),
        most="" if most is None else f"{place_name(most.place)}, {format_quantity(most.watt, 'W')}",
    )


def _row(loss: Loss, scale: float) -> LossRow:
    name, watt = place_name(loss.place), format_quantity(loss.watt, "W")
    return LossRow(
        place=name,
        watt=watt,
        share=percent(loss.share) if loss.watt else "0",
        bar=Markup("")
        if loss.place == OUTPUT or not scale
        else amount_bar(loss.watt / scale, f"{name}: {watt}"),
        limits=loss_range(loss),
    )
