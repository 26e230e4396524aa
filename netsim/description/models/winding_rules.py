"""Rules between the keys of a winding, and between a winding and the bands that use it."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from netsim.description.formatting import format_quantity
from netsim.description.key_path import KeyPath
from netsim.description.models.rules import Breach, conflict, lacking

if TYPE_CHECKING:
    from netsim.description.models import amplifier as models
    from netsim.description.models import coils as coil_models

_ROUNDING = 1e-9
_WHOLE = 1e-6
_SAME_SPACING = 0.01
_MOST_TURNS = 300
_DIAMETERS = ("mean_diameter", "outside_diameter", "inside_diameter")
_SOLENOID_KEYS = (*_DIAMETERS, "pitch", "length", "conductor_diameter", "wall", "metal", "gap")
_TOROID_KEYS = ("inductance_per_turn_squared", "unloaded_q", "core_loss_share")
_WINDING_KEYS = (
    "unused_turns",
    "taps",
    "tap_step",
    "lead_inductance",
    "strap_inductance",
    "temperature",
    "temperature_rating",
    "q_allowance",
    "unloaded_q",
)


def plain(winding: "coil_models.PlainWinding") -> Iterator[Breach]:
    """Want wire that fits its length and its diameter."""
    wire = winding.conductor_diameter
    if wire is None:
        return
    pitch = winding.length / winding.turns
    if wire > pitch * (1 + _ROUNDING):
        yield conflict(
            "conductor_diameter",
            f"{winding.turns:g} turns over {_metres(winding.length)} leave {_metres(pitch)} for each; found "
            f"{_metres(wire)}: thinner wire, fewer turns or a longer winding",
        )
    if wire >= winding.diameter:
        yield conflict(
            "conductor_diameter",
            f"must be below the diameter of the turns, {_metres(winding.diameter)}; found {_metres(wire)}",
        )


def section(section: "coil_models.WindingSection") -> Iterator[Breach]:
    """Want the keys of its kind and no others, and a section that can be wound."""
    solenoid = section.kind == "solenoid"
    foreign = _TOROID_KEYS if solenoid else (*_SOLENOID_KEYS, "perpendicular")
    for key in foreign:
        if key in section.model_fields_set and getattr(section, key) is not None:
            other = "toroid" if solenoid else "solenoid"
            yield conflict(key, f'belongs to a {other}; remove it, or write kind = "{other}" instead')
    wanted = {"conductor_diameter": '"6 mm"'}
    if not solenoid:
        wanted = {"inductance_per_turn_squared": '"12 nH"', "unloaded_q": "250"}
    for key, example in wanted.items():
        if getattr(section, key) is None:
            yield lacking(
                key, f"required for a {section.kind} but not there; write for example {key} = {example}"
            )
    if solenoid:
        yield from _diameters(section)
        yield from _spacing(section)
        yield from _sizes(section)
    elif _fraction(section.turns):
        yield Breach(
            ("turns",),
            "fraction_on_toroid",
            f"turns of a toroid are whole, a wire passes through the ring or does not; found {section.turns:g}: "
            f"write {round(section.turns) or 1}",
        )


def _diameters(section: "coil_models.WindingSection") -> Iterator[Breach]:
    given = [key for key in _DIAMETERS if getattr(section, key) is not None]
    if not given:
        yield lacking(
            "mean_diameter",
            'required for a solenoid but not there; write for example mean_diameter = "55 mm", centre to centre of the '
            "conductor, or outside_diameter or inside_diameter",
        )
    for key in given[1:]:
        yield conflict(
            key, f"{given[0]} and {key} each fix the diameter; keep one of them and remove the other"
        )


def _spacing(section: "coil_models.WindingSection") -> Iterator[Breach]:
    pitch, length, turns = section.pitch, section.length, section.turns
    if pitch is None and length is None:
        yield lacking(
            "pitch",
            'pitch or length is required for a solenoid; write for example pitch = "9 mm", or length = "54 mm" '
            "for all its turns",
        )
    if pitch is not None and length is not None and abs(pitch * turns / length - 1.0) > _SAME_SPACING:
        yield conflict(
            "length",
            f"{turns:g} turns at a pitch of {_metres(pitch)} make {_metres(pitch * turns)}; found a length of "
            f"{_metres(length)}: keep pitch or length and remove the other",
        )


def _sizes(section: "coil_models.WindingSection") -> Iterator[Breach]:
    conductor, wall = section.conductor_diameter, section.wall
    if conductor is None:
        return
    spaced = section.pitch is not None or section.length is not None
    if spaced and section.turn_pitch < conductor * (1.0 - _ROUNDING):
        yield Breach(
            ("pitch" if section.pitch is not None else "length",),
            "pitch_below_conductor",
            f"the pitch must be at least the conductor's diameter, {_metres(conductor)}, or the turns touch; "
            f"found {_metres(section.turn_pitch)}: raise the pitch or the length, or take thinner wire",
        )
    key = next((key for key in _DIAMETERS if getattr(section, key) is not None), None)
    if key is not None and section.turn_diameter <= conductor:
        yield Breach(
            (key,),
            "diameter_below_conductor",
            f"the diameter of the turns, centre to centre, must exceed the conductor's, {_metres(conductor)}; "
            f"found {_metres(section.turn_diameter)}: are the two interchanged?",
        )
    if wall is not None and wall > conductor / 2 * (1.0 + _ROUNDING):
        yield conflict(
            "wall",
            f"the wall can be at most half the conductor's diameter, {_metres(conductor)}; "
            f"found {_metres(wall)}",
        )


def coil(coil: "coil_models.Coil") -> Iterator[Breach]:
    """Want what only a winding uses not to stand alone, sections that fit, and taps on the winding."""
    if not coil.winding:
        for key in _WINDING_KEYS:
            if key in coil.model_fields_set and getattr(coil, key) is not None:
                yield conflict(
                    key,
                    "has a meaning only beside a winding; add [[network.coil.winding]] tables (or output_coil), "
                    f"or remove it{', and write q instead' if key == 'unloaded_q' else ''}",
                )
        return
    for index, part in enumerate(coil.winding):
        before = coil.winding[index - 1] if index else None
        if part.gap is not None and (index or part.perpendicular):
            yield from _gap(part, before, ("winding", index, "gap"))
    solved = _solved_turns(coil)
    if solved > _MOST_TURNS:
        yield Breach(
            ("winding",),
            "too_many_turns",
            f"solenoids of one coil can have {_MOST_TURNS} turns in all, since every turn is solved with every "
            f"other; found {solved:g}: leave the winding out and give inductances and q instead",
        )
    for index, (lower, upper) in enumerate(pairwise(coil.taps), start=1):
        if upper <= lower:
            yield Breach(
                ("taps", index),
                "taps_order",
                f"taps must rise from the plate end; found {upper:g} after {lower:g}: put them in order, each once",
            )
    for index, turns in enumerate(coil.taps):
        yield from _place(coil, turns, ("taps", index))


def _gap(
    part: "coil_models.WindingSection",
    before: "coil_models.WindingSection | None",
    key: KeyPath,
) -> Iterator[Breach]:
    if before is None or before.kind != "solenoid" or part.perpendicular:
        reason = "is perpendicular" if part.perpendicular else "has no solenoid before it"
        yield conflict(
            key,
            f"a gap is counted from the solenoid before, along one axis; this section {reason}: remove it",
        )


def coils(network: "models.Network") -> Iterator[Breach]:
    """Want a solenoid before the first gap: none is before the tank coil, the tank coil is before the output coil."""
    before = None
    for name in ("coil", "output_coil"):
        part: coil_models.Coil | None = getattr(network, name)
        if part is not None and part.winding:
            first = part.winding[0]
            if first.gap is not None and not first.perpendicular:
                yield from _gap(first, before, (name, "winding", 0, "gap"))
            before = part.winding[-1]
    if network.output_coil is not None and network.output_coil.is_placed:
        solved = sum(_solved_turns(part) for part in (network.coil, network.output_coil))
        if solved > _MOST_TURNS:
            yield Breach(
                ("output_coil", "winding"),
                "too_many_turns",
                f"the solenoids of two coils whose places are given can have {_MOST_TURNS} turns in all, since every "
                f"turn is solved with every other; found {solved:g}: give a coupling instead of the gap",
            )


def _solved_turns(coil: "coil_models.Coil") -> float:
    return sum(section.turns for section in coil.winding if section.kind == "solenoid")


def band(band: "models.Band") -> Iterator[Breach]:
    """Want each coil by its inductance or by its turns, not both; and the tank coil in any case."""
    for key in ("coil", "output_coil"):
        turns = f"{key}_turns"
        if getattr(band, key) is not None and getattr(band, turns) is not None:
            yield conflict(
                turns, f"{key} and {turns} each fix the inductance; keep one of them and remove the other"
            )
    if band.coil is None and band.coil_turns is None:
        yield lacking(
            "coil",
            'required but not there; write for example coil = "10.6 uH", or coil_turns = 7.5 '
            "counted from the plate end of the winding",
        )


def bands(network: "models.Network", bands: Sequence["models.Band"]) -> Iterator[Breach]:
    """Want an output coil in a pi-L alone, and turns that the winding has."""
    for index, band in enumerate(bands):
        here: KeyPath = ("bands", index)
        given = [key for key in ("output_coil", "output_coil_turns") if getattr(band, key) is not None]
        if network.topology == "pi-L" and not given:
            yield lacking((*here, "output_coil"), 'a pi-L needs it in every band; write for example "4.2 uH"')
        if network.topology == "pi":
            for key in given:
                yield conflict(
                    (*here, key),
                    'a pi has no output coil; remove this key, or write topology = "pi-L" in [network]',
                )
        for name in ("coil", "output_coil"):
            part, turns = getattr(network, name), getattr(band, f"{name}_turns")
            if part is not None and turns is not None:
                yield from _on_winding(part, name, turns, (*here, f"{name}_turns"))


def _on_winding(part: "coil_models.Coil", name: str, turns: float, key: KeyPath) -> Iterator[Breach]:
    if part.winding:
        yield from _place(part, turns, key)
        yield from _shorted_core(part, name, turns, key)
    else:
        yield conflict(
            key,
            f"there is no winding to count turns on; add [[network.{name}.winding]] tables, or write "
            f'{name} = "4.2 uH" instead',
        )


def _shorted_core(part: "coil_models.Coil", name: str, turns: float, key: KeyPath) -> Iterator[Breach]:
    """Want no ring core of which some turns are in use and others shorted."""
    if part.shorting == "open":
        return
    for begin, section in _starts(part.winding):
        end = begin + section.turns
        if section.kind == "toroid" and begin + _WHOLE < turns < end - _WHOLE:
            places = f", or tap at {begin:g} or {end:g}" if begin else f", or tap at {end:g}"
            yield Breach(
                key,
                "toroid_shorted",
                f'unused_turns = "{part.shorting}" would short {end - turns:g} turns on a ring core of which '
                f"{turns - begin:g} are in use, and on one core a short of some turns is a short of all; found "
                f'{turns:g}: write unused_turns = "open" under [network.{name}]{places}',
            )


def _place(part: "coil_models.Coil", turns: float, key: KeyPath) -> Iterator[Breach]:
    """Want a place on the winding, between whole turns only where it is not a toroid."""
    if turns > part.turns * (1.0 + _ROUNDING):
        yield Breach(
            key,
            "turns_beyond_winding",
            f"the winding has {part.turns:g} turns; found {turns:g}: choose a place on it, or add turns to a section",
        )
        return
    for begin, section in _starts(part.winding):
        inside = begin < turns < begin + section.turns
        if section.kind == "toroid" and inside and _fraction(turns - begin):
            low = begin + (turns - begin) // 1
            yield Breach(
                key,
                "fraction_on_toroid",
                "on a toroid turns are whole, a wire passes through the ring or does not; "
                f"found {turns:g}: choose {low:g} or {low + 1:g}",
            )


def _starts(
    winding: Iterable["coil_models.WindingSection"],
) -> Iterator[tuple[float, "coil_models.WindingSection"]]:
    begin = 0.0
    for section in winding:
        yield begin, section
        begin += section.turns


def _fraction(turns: float) -> bool:
    return abs(turns - round(turns)) > _WHOLE


def _metres(value: float) -> str:
    return format_quantity(value, "m", digits=6, trim=True)
