"""Rules between keys of the amplifier file. Each yields all that it finds broken."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import ValidationError
from pydantic_core import InitErrorDetails, PydanticCustomError

from netsim.description.formatting import format_quantity
from netsim.description.key_path import KeyPath, folded
from netsim.description.models import keys

if TYPE_CHECKING:
    from netsim.description.models import amplifier as models
    from netsim.description.models import capacitors as capacitor_models
    from netsim.description.models.operating_point import OperatingPoint

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Breach:
    """A broken rule: the key it stands at, a stable code, the rule with the values found and the remedy."""

    key: KeyPath
    code: str
    message: str


def conflict(key: str | KeyPath, message: str) -> Breach:
    """Return the breach of a key that does not go with another."""
    return Breach((key,) if isinstance(key, str) else key, "conflict", message)


def lacking(key: str | KeyPath, message: str) -> Breach:
    """Return the breach of a key that is not there."""
    return Breach((key,) if isinstance(key, str) else key, "missing_key", message)


def enforce(breaches: Iterable[Breach]) -> None:
    """Raise all breaches as one pydantic ValidationError, each at its own key; nothing if there is none."""
    details = [
        InitErrorDetails(
            type=PydanticCustomError(breach.code, "{rule}", {"rule": breach.message}),
            loc=breach.key,
            input=None,
        )
        for breach in breaches
    ]
    if details:
        raise ValidationError.from_exception_data("rules", details)


def stage(stage: "models.Stage") -> Iterator[Breach]:
    """Want one of minimum_plate_voltage and plate_load, and the voltages in their order."""
    supply, swing = stage.plate_voltage, stage.minimum_plate_voltage
    yield from swing_or_load(stage)
    if swing is None and stage.plate_load is None:
        yield lacking(
            (),
            "minimum_plate_voltage or plate_load is required; write for example "
            'minimum_plate_voltage = "380 V" or plate_load = "2.83 kohm"',
        )
    if swing is not None and swing >= supply:
        yield conflict(
            "minimum_plate_voltage",
            f"must be below plate_voltage, {_volts(supply)}, so that the plate swings; found {_volts(swing)}",
        )
    no_load = stage.no_load_plate_voltage
    if no_load is not None and no_load < supply * (1.0 - _ROUNDING):
        yield conflict(
            "no_load_plate_voltage",
            f"must not be below plate_voltage, {_volts(supply)}, which is measured under load; "
            f"found {_volts(no_load)}: are the two interchanged?",
        )


def swing_or_load(table: "models.Stage | OperatingPoint") -> Iterator[Breach]:
    """Want no plate load beside the swing that fixes it."""
    if table.minimum_plate_voltage is not None and table.plate_load is not None:
        yield conflict(
            "plate_load",
            "minimum_plate_voltage and plate_load each fix the other; keep one of them and remove the other",
        )


def limits(limits: "models.Limits") -> Iterator[Breach]:
    """Want the window of the loaded Q to ascend."""
    low, high = limits.loaded_q
    if low >= high:
        yield conflict(
            "loaded_q", f"the window must ascend, lowest first; found [{low:g}, {high:g}]: write [8, 20]"
        )


def suppressor(part: "models.Suppressor") -> Iterator[Breach]:
    """Want the coil by its inductance or by its winding."""
    if part.inductance is not None and part.winding is not None:
        yield conflict(
            "inductance", "inductance and winding each fix the other; keep one of them and remove the other"
        )
    if part.inductance is None and part.winding is None:
        yield lacking(
            "inductance",
            'required but not there; write for example inductance = "60 nH", or give the coil\'s turns, diameter and '
            "length in a table [network.suppressor.winding]",
        )


def variable_capacitor(part: "capacitor_models.VariableCapacitor") -> Iterator[Breach]:
    """Want the range the right way up, and a dial of two points or more that rise or fall throughout."""
    if part.minimum > part.maximum:
        yield conflict(
            "minimum",
            f"minimum {_farads(part.minimum)} is above maximum {_farads(part.maximum)}: interchange the two?",
        )
    table = part.dial
    if len(table) == 1:
        yield Breach(
            ("dial",),
            "too_few_points",
            'one point is no table; give two or more, such as dial = [[0, "12 pF"], [100, "320 pF"]]',
        )
    for column, what in enumerate(("dial figures", "capacitances")):
        values = [point[column] for point in table]
        for index in range(1, len(values)):
            step, first = values[index] - values[index - 1], values[1] - values[0]
            if step == 0 or (step > 0) != (first > 0):
                shown = [f"{v:g}" if column == 0 else _farads(v) for v in values[index - 1 : index + 1]]
                yield Breach(
                    ("dial", index),
                    "dial_order",
                    f"the {what} must rise or fall from point to point throughout; found {shown[1]} after {shown[0]}: "
                    "put the points in the order of the dial, each once",
                )
                break


def air_gap(part: "capacitor_models.Ratings") -> Iterator[Breach]:
    """Want a gap in place of a rating, and an altitude only beside a gap."""
    if part.air_gap is not None and part.voltage_rating is not None:
        yield conflict(
            "air_gap",
            "air_gap stands in place of voltage_rating; keep the rating if it is the maker's, else the gap",
        )
    if part.altitude is not None and part.air_gap is None:
        yield conflict(
            "altitude", "altitude counts only beside air_gap, whose air it thins; remove it, or give the gap"
        )


def network(network: "models.Network") -> Iterator[Breach]:
    """Want an output coil in a pi-L and nowhere else."""
    if network.topology == "pi-L" and network.output_coil is None:
        yield lacking(
            "output_coil", "a pi-L has an output coil; add a table [network.output_coil], which may be empty"
        )
    if network.topology == "pi" and network.output_coil is not None:
        yield conflict(
            "output_coil", 'a pi has no output coil; remove this table, or write topology = "pi-L"'
        )


def band(band: "models.Band") -> Iterator[Breach]:
    """Want the settings tune and load together, one for all frequencies or one for each."""
    for given, absent in (("tune", "load"), ("load", "tune")):
        setting = getattr(band, given)
        if setting is not None and getattr(band, absent) is None:
            yield conflict(
                given,
                f"{given} is given without {absent}; give both settings, or neither to have them calculated",
            )
        if isinstance(setting, tuple) and len(setting) != len(band.frequencies):
            yield Breach(
                (given,),
                "wrong_length",
                f"one setting for each frequency is wanted, {len(band.frequencies)} in all; found {len(setting)}: give "
                "one for each, or a single one without brackets for all of them",
            )


def bands_of(network: "models.Network", bands: Sequence["models.Band"]) -> Iterator[Breach]:
    """Want bands that fit the network, each with a name of its own, and no more frequencies than can be solved."""
    first: dict[str, int] = {}
    for index, band in enumerate(bands):
        here: KeyPath = ("bands", index)
        earlier = bands[first.setdefault(folded(band.name), index)]
        if earlier is not band:
            alike = "" if earlier.name == band.name else f"{earlier.name!r} but for blanks and capitals, "
            yield Breach(
                (*here, "name"),
                "duplicate_name",
                f"{band.name!r} is {alike}the name of an earlier band; change one",
            )
        yield from _in_range(band.settings("tune"), network.tune_capacitor, (*here, "tune"))
        yield from _in_range(band.settings("load"), network.load_capacitor, (*here, "load"))
    frequencies = sum(len(band.frequencies) for band in bands)
    if frequencies > keys.MOST_FREQUENCIES:
        yield Breach(
            ("bands",),
            "too_many_frequencies",
            f"{keys.MOST_FREQUENCIES} frequencies in all bands are the most that is solved; found {frequencies}: give "
            "the ends and the middle of each band",
        )


def _in_range(
    settings: Sequence[float | None],
    part: "capacitor_models.VariableCapacitor",
    key: KeyPath,
) -> Iterator[Breach]:
    low, high = part.minimum * (1.0 - _ROUNDING), part.maximum * (1.0 + _ROUNDING)
    outside = next((s for s in settings if s is not None and not low <= s <= high), None)
    if outside is not None:
        yield Breach(
            key,
            "out_of_range",
            f"network.{key[-1]}_capacitor reaches {_farads(part.minimum)} to {_farads(part.maximum)}; "
            f"found {_farads(outside)}: give a setting within that range",
        )


def _volts(value: float) -> str:
    return format_quantity(value, "V", digits=6, trim=True)


def _farads(value: float) -> str:
    return format_quantity(value, "F", digits=6, trim=True)
