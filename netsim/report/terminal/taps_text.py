"""Taps for the terminal: where each band's tap is, where it belongs, and what to do about it."""

import shlex
from collections.abc import Iterator

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from netsim.advice.taps.tap_advice import TapsAdvice, TapState
from netsim.advice.taps.tap_words import plate_loads
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.notation import CAUTION
from netsim.report.terminal.tables import BAND_COLUMNS, figures_table, unchecked

_LOADS_COLUMNS = 18


def render(advice: TapsAdvice, file: str, *, another_tube: bool = False) -> RenderableType:
    """Lay out the advice on the taps of an amplifier for a console of 80 columns; no text is read as markup.

    `file` is named in the command that is worth running next; with `another_tube` the plate load is not the file's.
    """
    return Group(
        *_head(advice, another_tube),
        _states(advice),
        _deeds(advice),
        *_basis(advice),
        Text(f"\n{CAUTION}"),
        *_next(advice, file, another_tube),
    )


def _head(advice: TapsAdvice, another_tube: bool) -> Iterator[RenderableType]:
    yield Text(advice.title, "bold")
    load = format_quantity(advice.plate_load_ohm, "ohm")
    whose = " of another tube; its output capacitance is taken to be the file's" if another_tube else ""
    yield Text(f"Taps of the coil, from the plate end, for a plate load of {load}{whose}.")
    yield Text(f"Wanted is a loaded Q (plate load over reactance) of {advice.target_loaded_q:g}.")
    yield from unchecked(advice.cross_checked)


def _states(advice: TapsAdvice) -> Table:
    """One row for each present tap, and one for where it should be if that is elsewhere."""
    table = figures_table("Band")
    table.add_column("tap", no_wrap=True)
    for heading in ("turns", "coil", "loaded Q", "tune", "load"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("match", no_wrap=True)
    for band in advice.bands:
        name = Text(band.name)
        if band.present is not None:
            table.add_row(name, "present", *_state(band.present))
        if band.proposed is not None and (band.move_turns or band.present is None):
            table.add_row(
                "" if band.present is not None else name, Text("proposed", "bold"), *_state(band.proposed)
            )
    return table


def _state(state: TapState) -> tuple[str | Text, ...]:
    return (
        NOTHING if state.coil_turns is None else f"{state.coil_turns:.6g}",
        format_quantity(state.coil_henry, "H"),
        f"{state.loaded_q:.1f}",
        format_quantity(state.tune_farad, "F"),
        format_quantity(state.load_farad, "F"),
        "tuned" if state.tuned else Text("not tuned", "bold red"),
    )


def _deeds(advice: TapsAdvice) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, expand=True)
    table.add_column("Band", no_wrap=True, width=BAND_COLUMNS, overflow="ellipsis")
    table.add_column("present tap serves", width=_LOADS_COLUMNS)
    table.add_column("what to do", ratio=1)
    for band in advice.bands:
        given = band.present is not None and band.present.coil_turns is None
        style = "bold red" if band.proposed is None and not given else ""
        serves = NOTHING if band.present is None else plate_loads(band.plate_load_range_ohm)
        table.add_row(Text(band.name), serves, Text(band.message, style))
    return table


def _basis(advice: TapsAdvice) -> Iterator[RenderableType]:
    yield Text(
        "Loaded Q and settings are those at a band's first frequency, matched antenna; tuned means at all of "
        "its frequencies. Plate loads are those into which the present tap and these capacitors tune, whatever the "
        "loaded Q."
    )
    if any(band.present is not None and band.present.coil_turns is None for band in advice.bands):
        yield Text(
            "\nA coil given by its inductance has no taps to move. To have places worked out in turns, describe it "
            "in [[network.coil.winding]] tables (kind, turns, mean_diameter, pitch, conductor_diameter) and write "
            "coil_turns in the bands in place of coil."
        )


def _next(advice: TapsAdvice, file: str, another_tube: bool) -> Iterator[RenderableType]:
    name = shlex.quote(file)
    if another_tube:
        yield Text(
            "\nNext: write the other tube's [stage] and the proposed turns (as coil_turns) into a copy\n"
            "      of the file, then netsim check COPY"
        )
    elif advice.edits:
        contacts = " and taps" if any(edit.key.endswith(".taps") for edit in advice.edits) else ""
        yield Text(
            f"\nNext: write the proposed turns as coil_turns{contacts} into the file, then\n"
            f"      netsim check {name}"
        )
    elif any(band.obstacle is not None for band in advice.bands):
        yield Text(f"\nNext: netsim fix {name}")
    else:
        yield Text(f"\nNext: netsim report {name}")
