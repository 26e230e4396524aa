"""Rules between the keys of the box: supply, cooling, meters, input network, and the tube that they serve."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from netsim.description.models.rules import Breach, conflict, lacking

if TYPE_CHECKING:
    from netsim.description.models import amplifier as models
    from netsim.description.models import box

_WHOLE = 1e-6
_CURRENTS = ("plate current", "grid current")
_SIZES = ("thickness", "area")
_FINS = ("fins", "fin_height", "fin_length", "fin_thickness", "fin_gap")


def supply(supply: "box.Supply") -> Iterator[Breach]:
    """Want whole capacitors, an even number in a doubler, and ratings only of what is there."""
    count = supply.capacitors_in_series
    if abs(count - round(count)) > _WHOLE:
        yield Breach(("capacitors_in_series",), "out_of_range", f"a whole number is wanted; found {count:g}")
    elif supply.rectifier == "doubler" and round(count) % 2:
        yield conflict(
            "capacitors_in_series",
            "a doubler charges two halves of the chain in turn, so an even number is wanted; "
            f"found {count:g}: count all capacitors from plate supply to chassis",
        )
    for key, wanted in (
        ("inrush_resistor", "turns_ratio"),
        ("inrush_pulse_rating", "inrush_resistor"),
        ("inrush_time", "inrush_resistor"),
        ("glitch_pulse_rating", "glitch_resistor"),
        ("bleeder_power_rating", "bleeder"),
    ):
        if getattr(supply, key) is not None and getattr(supply, wanted) is None:
            yield lacking(wanted, f"{key} is given, which needs {wanted}; add it, or remove {key}")


def heat_path_item(item: "box.HeatPathItem") -> Iterator[Breach]:
    """Want one way to the thermal resistance, whole; a capacitance only of what insulates."""
    ways = ("thermal_resistance", "material", "conductivity", "fins")
    given = [key for key in ways if getattr(item, key) is not None]
    if not given:
        yield lacking(
            "thermal_resistance",
            'required but not there; write for example thermal_resistance = "0.08 K/W", or material or conductivity '
            "with thickness and area, or fins with their sizes",
        )
    for key in given[1:]:
        yield conflict(key, f"{given[0]} and {key} each fix the resistance; keep one of them")
    by_size = bool(given) and given[0] in ("material", "conductivity")
    electrical_size = item.electrical and given[:1] == ["thermal_resistance"]
    for key in _SIZES:
        if by_size and getattr(item, key) is None:
            yield lacking(key, f"required beside {given[0]}; write for example {_SIZE_EXAMPLES[key]}")
        if given and not by_size and not electrical_size and getattr(item, key) is not None:
            yield conflict(key, f"counts only beside material or conductivity; remove it, or {given[0]}")
    for key in _FINS:
        if item.fins is not None and getattr(item, key) is None:
            yield lacking(key, f'required beside fins; write for example {key} = "30 mm"')
        if item.fins is None and getattr(item, key) is not None:
            yield conflict(key, "counts only beside fins, their number; add it, or remove this")
    yield from _insulator(item)


_SIZE_EXAMPLES = {"thickness": 'thickness = "3 mm"', "area": 'area = "25 cm^2"'}


def _insulator(item: "box.HeatPathItem") -> Iterator[Breach]:
    if item.adds_to_output_capacitance and not item.electrical:
        yield conflict(
            "adds_to_output_capacitance",
            "only an item that insulates has a capacitance to chassis; write electrical = true, or remove this",
        )
    if item.adds_to_output_capacitance and item.material is None:
        for key in ("permittivity", *_SIZES):
            if getattr(item, key) is None:
                yield lacking(key, "required for the capacitance of an insulator without a material")
    conductors = ("copper", "aluminium", "aluminium 6061", "aluminium 6063", "brass")
    if item.electrical and item.material in conductors:
        yield conflict("electrical", f"{item.material} conducts; name the material of the insulator itself")


def cooling(cooling: "box.Cooling") -> Iterator[Breach]:
    """Want a limit above the air."""
    if cooling.anode_temperature_limit <= cooling.ambient:
        yield conflict(
            "anode_temperature_limit",
            f"must be above ambient, {cooling.ambient:g} degC; found {cooling.anode_temperature_limit:g} degC",
        )


def meter(meter: "box.Meter") -> Iterator[Breach]:
    """Want a shunt for a current, a multiplier for a voltage, and a scale above what the movement shows alone."""
    is_current = meter.reads in _CURRENTS
    foreign, other = ("multiplier", "shunt") if is_current else ("shunt", "multiplier")
    if getattr(meter, foreign) is not None:
        yield conflict(
            foreign, f"a meter of {meter.reads} has a {other} or none; remove this, or write {other}"
        )
    if is_current and meter.full_scale < meter.movement:
        yield conflict(
            "full_scale",
            f"the movement alone shows {meter.movement:g} A at full scale; a shunt only makes that more",
        )


def box_tables(description: "models.Description") -> Iterator[Breach]:
    """Want a tube for the bias, and the parts of the input network where it is a pi and nowhere else."""
    if description.bias is not None and description.tube is None:
        yield conflict("bias", "the bias follows from the tube's law; add a table [tube], or remove this one")
    network = description.input
    keys = ("input_coil", "input_source_capacitor", "input_tube_capacitor")
    for index, band in enumerate(description.bands):
        given = [key for key in keys if getattr(band, key) is not None]
        if given and (network is None or network.topology == "none"):
            yield conflict(
                ("bands", index, given[0]),
                'there is no input network that it belongs to; add a table [input] with topology = "pi"',
            )
        if network is not None and network.topology == "pi" and 0 < len(given) < len(keys):
            missing = next(key for key in keys if key not in given)
            yield lacking(
                ("bands", index, missing),
                f"the three parts of an input pi are given together; add {missing}, or leave all out to have them "
                "designed",
            )
