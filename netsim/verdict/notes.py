"""What looks like a slip of the pen: nothing is wrong by the rules, and yet somebody should look again."""

from collections.abc import Iterator

import numpy as np

from netsim.circuit.assembly import inputs_of
from netsim.description.formatting import format_quantity
from netsim.verdict.result import Note
from netsim.verdict.solved import Solved

WIDE_GAP = 10e-3
"""Air gap of a variable capacitor [m] beyond which a decimal point is likelier (common practice: 0.5 to 6 mm)."""

WIDE_COIL = 0.3
"""Mean diameter of a coil [m] beyond which the same holds (common practice: 3 to 15 cm)."""

_SAME = 1e-6


def notes(solved: Solved) -> Iterator[Note]:
    """List what asks to be looked at again.

    Yields
    ------
    Note
        Codes ``wide_air_gap``, ``wide_coil``, ``turns_not_a_contact``, ``no_series_drive``,
        ``count_or_perveance``, ``input_without_tube`` and ``limits_cut``.
    """
    for entry in inputs_of(solved.amplifier):
        if entry.note:
            yield Note("limits_cut", f"{entry.key}: {entry.note}", entry.line, entry.key)
    yield from _sizes(solved)
    yield from _contacts(solved)
    yield from _tube(solved)
    yield from _box(solved)


def _sizes(solved: Solved) -> Iterator[Note]:
    network = solved.description.network
    for name in ("blocking_capacitor", "tune_capacitor", "load_capacitor", "tune_padding", "load_padding"):
        gap = getattr(getattr(network, name), "air_gap", None)
        if gap is not None and gap > WIDE_GAP:
            yield _note(
                solved,
                "wide_air_gap",
                f"an air gap of {format_quantity(gap, 'm')} is wider than transmitting capacitors have; is it "
                f"{format_quantity(gap / 10, 'm')}?",
                "network", name, "air_gap",
            )  # fmt: skip
    for name in ("coil", "output_coil"):
        for number, section in enumerate(getattr(getattr(network, name), "winding", ())):
            diameter = section.mean_diameter
            if diameter is not None and diameter > WIDE_COIL:
                yield _note(
                    solved,
                    "wide_coil",
                    f"a coil of {format_quantity(diameter, 'm')} mean diameter fits no cabinet; is it "
                    f"{format_quantity(diameter / 10, 'm')}?",
                    "network", name, "winding", number, "mean_diameter",
                )  # fmt: skip


def _contacts(solved: Solved) -> Iterator[Note]:
    for name in ("coil", "output_coil"):
        coil = getattr(solved.description.network, name)
        taps = getattr(coil, "taps", ())
        for index, band in enumerate(solved.description.bands):
            turns = getattr(band, f"{name}_turns")
            if taps and turns is not None and min(abs(tap - turns) for tap in taps) > _SAME:
                listed = ", ".join(f"{tap:g}" for tap in taps)
                yield _note(
                    solved,
                    "turns_not_a_contact",
                    f"{band.name} uses {turns:g} turns, which is none of the contacts in taps ({listed}); it counts as "
                    "one more contact",
                    "bands", index, f"{name}_turns",
                )  # fmt: skip


def _box(solved: Solved) -> Iterator[Note]:
    description = solved.description
    if description.input is not None and description.tube is None:
        yield _note(
            solved,
            "input_without_tube",
            "the drive follows from the tube's own law, and there is no [tube]: nothing is said of the input network",
            "input",
        )  # fmt: skip


def _tube(solved: Solved) -> Iterator[Note]:
    tube, stage = solved.description.tube, solved.description.stage
    if tube is None or solved.tube_state is None:
        return
    if tube.connection == "grounded grid" and not stage.drive_voltage_peak:
        yield _note(
            solved,
            "no_series_drive",
            "in grounded grid the drive stands in series with the plate circuit and adds to its swing, and [stage] "
            "has no drive_voltage_peak; its plate load is that of a stage without",
            "stage",
        )
    state = solved.tube_state.tube.single(0)
    least = solved.tube_state.balance.plate_voltage_minimum[0]
    crest = float(solved.tube_state.balance.take(np.array([0])).waves().current.max())
    alone = float(state.plate_current(np.array([least]), np.array([0.0]))[0])
    if state.count > 1 and alone > crest:
        yield _note(
            solved,
            "count_or_perveance",
            f"without any grid voltage {state.count:g} such tubes pass {format_quantity(alone, 'A')} at the lowest "
            f"plate voltage, and the crest is {format_quantity(crest, 'A')}; perveance and curve points are of each "
            "tube: are these of all together?",
            "tube", "count",
        )  # fmt: skip


def _note(solved: Solved, code: str, message: str, *key: str | int) -> Note:
    return Note(code, message, solved.line(*key), solved.amplifier.key(*key))
