"""What can be done to the amplifier as a whole: other parts, less stray, less power, another topology."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from netsim.advice.fix.change import Edit, Move, plain_edit, quantity_edit, removal, written
from netsim.advice.fix.preferred_values import MINIMA, step_down, step_up
from netsim.circuit.assembly import suppressor_inductance
from netsim.description.formatting import format_quantity
from netsim.description.models.amplifier import Description, Stage
from netsim.description.models.capacitors import FixedCapacitor
from netsim.verdict.checks.parts import effective_rating

_LESS = (0.9, 0.8, 0.7, 0.6, 0.5)
_WIDER = 2.0
_SOURCE = "to be found: its figures are what the proposal asks for"
_TENTH = 0.1


@dataclass(frozen=True)
class Replacement:
    """A move that puts in other parts, and which part's ratings are therefore open.

    Attributes
    ----------
    move : Move
        What it does to the network; ratings are settled once all stresses are known.
    part : str
        Name of the part that is replaced anyway; empty if none is.
    """

    move: Move
    part: str = ""


def replacements(description: Description, suppressor_used: float) -> Iterator[list[Replacement]]:
    """Give groups of moves that exclude each other, each move changing the network itself.

    Parameters
    ----------
    description : Description
        As it stands.
    suppressor_used : float
        Worst used fraction of the suppressor's rating, zero if unknown.

    Yields
    ------
    list of Replacement
        One group: do one of these, or none. The reach of a capacitor is the widest to be had here, and
        narrowed later to what is needed.
    """
    for side in ("tune", "load"):
        yield [_reach(description, side)]
        stray = getattr(description.network, f"{side}_capacitor").stray
        if stray:
            yield [_less_stray(side, stray)]
    yield _suppressors(description, suppressor_used)
    yield _less_power(description.stage)
    if description.network.blocking_capacitor is None:
        yield [_blocking(description.stage)]


def _reach(description: Description, side: str) -> Replacement:
    name = f"{side}_capacitor"
    part = getattr(description.network, name)
    edits = []
    if part.minimum > MINIMA[0]:
        edits.append(quantity_edit(("network", name, "minimum"), MINIMA[0], "F"))
    edits.append(quantity_edit(("network", name, "maximum"), part.maximum * _WIDER, "F"))
    least = min(part.minimum, MINIMA[0])
    title = f"another {side} capacitor, reaching from {written(least, 'F')} to {edits[-1].text}"
    return Replacement(Move("part", f"network.{name}", None, title, tuple(edits)), name)


def _less_stray(side: str, stray: float) -> Replacement:
    edit = quantity_edit(("network", f"{side}_capacitor", "stray"), stray / 2, "F", 2)
    title = f"{edit.text} of stray on the {side} side instead of {written(stray, 'F')}: shorter, freer wiring"
    return Replacement(Move("part", f"network.{side}_capacitor.stray", None, title, (edit,)))


def _suppressors(description: Description, used: float) -> list[Replacement]:
    """Lower the inductance so that the resistor's loss, which goes as its square, comes below the rating."""
    suppressor = description.network.suppressor
    if suppressor is None or suppressor.power_rating is None:
        return []
    # Within its rating as it stands, another plate load may still put it beyond.
    used = used if used > 1.0 else 2.0
    present = float(suppressor_inductance(suppressor))
    unwound = () if suppressor.winding is None else (removal(("network", "suppressor", "winding")),)
    found: list[Replacement] = []
    for share in (0.85, 0.7, 0.55):
        wanted = step_down(present * math.sqrt(share / used))
        if present / 3 <= wanted < present and wanted not in [f.move.edits[0].value for f in found]:
            edit = quantity_edit(("network", "suppressor", "inductance"), wanted, "H")
            title = f"suppressor coil {edit.text} instead of {written(present, 'H')}"
            move = Move("part", "network.suppressor", None, title, (edit, *unwound))
            found.append(Replacement(move, "suppressor"))
    return found[:2]


def _less_power(stage: Stage) -> list[Replacement]:
    nominal = _swing(stage, stage.plate_voltage) * stage.plate_current
    found = []
    for factor in _LESS:
        current = quantity_edit(("stage", "plate_current"), stage.plate_current * factor, "A")
        loss = 1 - factor if stage.plate_load is None else 1 - factor**2
        title = f"plate current {current.text} instead of {written(stage.plate_current, 'A')}"
        found.append(_output_move(title, (current,), loss))
        voltage = _voltages(stage, factor)
        if stage.plate_load is None and _swing(stage, stage.plate_voltage * factor) > 0:
            loss = 1 - _swing(stage, stage.plate_voltage * factor) * stage.plate_current / nominal
            title = (
                f"plate voltage {voltage[0].text} instead of {written(stage.plate_voltage, 'V')} "
                "(another tap of the supply)"
            )
            found.append(_output_move(title, voltage, loss))
    return found


def _swing(stage: Stage, voltage: float) -> float:
    return voltage - (stage.minimum_plate_voltage or 0.0) + stage.drive_voltage_peak


def _voltages(stage: Stage, factor: float) -> tuple[Edit, ...]:
    edits = [quantity_edit(("stage", "plate_voltage"), stage.plate_voltage * factor, "V")]
    if stage.no_load_plate_voltage is not None:
        key = ("stage", "no_load_plate_voltage")
        edits.append(quantity_edit(key, stage.no_load_plate_voltage * factor, "V"))
    return tuple(edits)


def _output_move(title: str, edits: tuple[Edit, ...], loss: float) -> Replacement:
    tenths = math.ceil(loss / _TENTH - 1e-9)
    return Replacement(Move("output", "stage", None, f"{title}: {loss:.0%} less output", edits, tenths))


def _blocking(stage: Stage) -> Replacement:
    supply = stage.no_load_plate_voltage or stage.plate_voltage
    rating = written(step_up(2 * supply), "V")
    text = {"capacitance": "1 nF", "voltage_rating": rating}
    part = FixedCapacitor.model_validate(text)
    title = f"a blocking capacitor of 1 nF rated {rating} pk, about twice the supply"
    edit = Edit(("network", "blocking_capacitor"), part, text)
    return Replacement(Move("part", "network.blocking_capacitor", None, title, (edit,)), "blocking_capacitor")


def new_choke(description: Description) -> Move | None:
    """Move the plate choke's resonances out of and well away from every band; None if none is near.

    Notes
    -----
    A resonance stays clear if it is more than a tenth off each band; the nearest such place is taken.
    """
    choke = description.network.plate_choke
    if choke is None:
        return None
    spans = sorted((min(b.frequencies) * 0.89, max(b.frequencies) * 1.12) for b in description.bands)
    moved = []
    for resonance in choke.series_resonances:
        if any(low <= resonance <= high for low, high in spans):
            places = [place for span in spans for place in span]
            free = [p for p in places if not any(low < p < high for low, high in spans)]
            resonance = min(free, key=lambda place: abs(math.log(place / resonance)))
        moved.append(resonance)
    if moved == list(choke.series_resonances):
        return None
    path = ("network", "plate_choke", "series_resonances")
    texts = [written(resonance, "Hz", 3) for resonance in moved]
    edit = Edit(path, tuple(moved), texts)
    listed = " and ".join(texts)
    title = f"a plate choke that resonates at {listed}: other turns or a split winding, then measured again"
    return Move("part", "network.plate_choke", None, title, (edit,))


def higher_rating(description: Description, part: str, asked: Sequence[tuple[str, str, float]]) -> Move:
    """Replace a part by one with higher ratings.

    Parameters
    ----------
    description : Description
        As it stands.
    part : str
        Its name.
    asked : sequence of (key, unit, value)
        Ratings, in SI.
    """
    model = getattr(description.network, part)
    edits, words = [], []
    for key, unit, value in asked:
        edit = quantity_edit(("network", part, key), value, unit)
        edits.append(edit)
        now = format_quantity(effective_rating(model, key), unit, trim=True)
        if getattr(model, "air_gap", None) is not None and key == "voltage_rating":
            edits += [removal(("network", part, name)) for name in ("air_gap", "altitude")]
        words.append(f"{key.replace('_', ' ')} {edit.text} instead of {now}")
    edits += source_edits(description, part)
    title = f"another {part.replace('_', ' ')}: {', '.join(words)}"
    return Move("part", f"network.{part}", None, title, tuple(edits))


def source_edits(description: Description, part: str) -> list[Edit]:
    """Say of a replaced part's figures that they are wishes, where the file says whence they come."""
    model = getattr(description.network, part)
    if model is None or model.source is None:
        return []
    return [plain_edit(("network", part, "source"), _SOURCE)]
