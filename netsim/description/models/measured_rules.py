"""Rules of a reading, and between readings, bands and parts."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from netsim.description.formatting import format_quantity
from netsim.description.key_path import KeyPath, folded
from netsim.description.models.rules import Breach, conflict, lacking

if TYPE_CHECKING:
    from netsim.description.models import amplifier as models
    from netsim.description.models import measured as readings
    from netsim.description.models.capacitors import VariableCapacitor

_SETTINGS = ("tune_dial", "tune", "load_dial", "load")
_COLD = (
    "plate_resistor",
    "plate_resistor_inductance",
    "plate_resistor_capacitance",
    "impedance",
    "swr",
    "file",
)
_POWERS = ("output", "voltage_peak", "deflection")
_OUTPUT = (
    *_POWERS,
    "load_resistance",
    "reference_deflection",
    "reference_output",
    "plate_voltage",
    "plate_current",
)
KEYS = {
    "cold match": ("band", "frequency", *_SETTINGS, *_COLD),
    "output": ("band", "frequency", *_SETTINGS, *_OUTPUT),
    "inductance": ("frequency", "coil", "turns", "inductance", "q"),
    "capacitance": ("part", "dial", "capacitance"),
}
"""What each kind of reading may say, beside what, note and uncertainty."""
_REQUIRED = {
    "cold match": {"band": '"40 m"', "plate_resistor": '"3.3 kohm"'},
    "output": {"band": '"40 m"', "frequency": '"7.15 MHz"'},
    "inductance": {"turns": "9.75", "inductance": '"2.0 uH +- 3 %"'},
    "capacitance": {"part": '"tune_capacitor"', "dial": "50", "capacitance": '"139 pF +- 2 %"'},
}
_ALL_KEYS = {key for keys in KEYS.values() for key in keys}
BEYOND = 0.05
"""How far outside a band's frequencies a reading still belongs to it."""


def reading(given: "readings.Measured") -> Iterator[Breach]:
    """Want the keys of its kind and no others, one reading, and settings by one way each."""
    for key in sorted(_ALL_KEYS & given.model_fields_set):
        if key not in KEYS[given.what] and getattr(given, key) is not None:
            homes = " or ".join(repr(what) for what, keys in KEYS.items() if key in keys)
            yield conflict(key, f"belongs to a reading of {homes}, not of {given.what!r}: remove it")
    for key, example in _REQUIRED[given.what].items():
        if getattr(given, key) is None:
            yield lacking(key, f"required for {given.what!r}; write for example {key} = {example}")
    if given.what == "cold match":
        yield from _one_of(given, ("impedance", "swr", "file"), 'impedance = "47 - 6j ohm"')
        if given.frequency is None and given.file is None:
            yield lacking("frequency", 'required; write for example frequency = "7.15 MHz"')
        if given.frequency is not None and given.file is not None:
            yield conflict("frequency", "the frequencies stand in the file; remove this, or the file")
    if given.what == "output":
        yield from _one_of(given, _POWERS, 'output = "780 W +- 5 %"')
        yield from _references(given)
    yield from _settings(given)
    yield from _uncertainty(given)


def _one_of(given: "readings.Measured", keys: tuple[str, ...], example: str) -> Iterator[Breach]:
    there = [key for key in keys if getattr(given, key) is not None]
    if not there:
        yield lacking(keys[0], f"one of {', '.join(keys)} is required; write for example {example}")
    for key in there[1:]:
        yield conflict(key, f"{there[0]} is given as well; make two readings of it, or remove one")


def _references(given: "readings.Measured") -> Iterator[Breach]:
    references = ("reference_deflection", "reference_output")
    for key in references:
        if given.deflection is not None and getattr(given, key) is None:
            yield lacking(key, "required beside deflection: the same screen at a known output")
        if given.deflection is None and getattr(given, key) is not None:
            yield conflict(key, "counts only beside deflection; remove it, or give the deflection")
    if given.load_resistance is not None and given.voltage_peak is None:
        yield conflict("load_resistance", "counts only beside voltage_peak; remove it")


def _settings(given: "readings.Measured") -> Iterator[Breach]:
    """Want both capacitors, each by dial or capacitance; or of an output neither, which means tuned."""
    if given.what not in ("cold match", "output"):
        return
    there = {
        side: [k for k in (f"{side}_dial", side) if getattr(given, k) is not None]
        for side in ("tune", "load")
    }
    for keys in there.values():
        if len(keys) > 1:
            yield conflict(keys[1], f"{keys[0]} says the same setting; keep the one that was read")
    absent = [side for side, keys in there.items() if not keys]
    if given.what == "cold match" or len(absent) == 1:
        for side in absent:
            reason = (
                "required"
                if given.what == "cold match"
                else "both settings are required, or none where it was tuned"
            )
            yield lacking(side, f'{reason}; write for example {side}_dial = 41.5 or {side} = "58 pF"')


def _uncertainty(given: "readings.Measured") -> Iterator[Breach]:
    if given.uncertainty is None:
        return
    if given.uncertainty.absolute is not None and given.swr is None:
        yield Breach(
            ("uncertainty",), "unit_missing", 'only of an SWR a plain number; write a share, such as "3 %"'
        )
    own = [key for key in _ALL_KEYS if getattr(getattr(given, key, None), "half_width", None) is not None]
    if own:
        key = min(own)
        yield conflict("uncertainty", f"{key} has its own; keep one of the two")


def measured(description: "models.Description") -> Iterator[Breach]:
    """Want bands, taps and dials that are there, and values that they can have."""
    for index, given in enumerate(description.measured):
        here: KeyPath = ("measured", index)
        yield from _band(given, description, here)
        for side in ("tune", "load"):
            part = getattr(description.network, f"{side}_capacitor")
            yield from _dial(
                getattr(given, f"{side}_dial"), part, f"{side}_capacitor", (*here, f"{side}_dial")
            )
            yield from _range(getattr(given, side), part, f"{side}_capacitor", (*here, side))
        if given.part is not None:
            yield from _dial(
                given.dial, getattr(description.network, given.part), given.part, (*here, "dial")
            )
        if given.what == "inductance" and given.turns is not None:
            yield from _tap(given, description, here)


def _band(given: "readings.Measured", description: "models.Description", here: KeyPath) -> Iterator[Breach]:
    if given.band is None:
        return
    band = next((band for band in description.bands if folded(band.name) == folded(given.band)), None)
    if band is None:
        have = ", ".join(repr(band.name) for band in description.bands)
        yield Breach(
            (*here, "band"),
            "unknown_band",
            f"there is no band {given.band!r}; the file has {have}: name one of these",
        )
        return
    low, high = min(band.frequencies), max(band.frequencies)
    if given.frequency is not None and not low * (1 - BEYOND) <= given.frequency <= high * (1 + BEYOND):
        span = f"{_hertz(low)} to {_hertz(high)}" if low < high else _hertz(low)
        yield Breach(
            (*here, "frequency"),
            "other_band",
            f"band {band.name!r} is {span}; found {_hertz(given.frequency)}: is it a reading of another band?",
        )


def _dial(figure: float | None, part: "VariableCapacitor", name: str, key: KeyPath) -> Iterator[Breach]:
    if figure is None:
        return
    if not part.dial:
        yield Breach(
            key,
            "dial_missing",
            f"network.{name} has no dial table to read it by; add one, such as "
            'dial = [[0, "12 pF"], [100, "320 pF"]], or give the capacitance',
        )
        return
    low, high = min(part.dial)[0], max(part.dial)[0]
    if not low <= figure <= high:
        yield Breach(
            key,
            "dial_outside",
            f"the dial of network.{name} goes from {low:g} to {high:g}; found {figure:g}: read it again, or add points",
        )


def _range(farads: float | None, part: "VariableCapacitor", name: str, key: KeyPath) -> Iterator[Breach]:
    if farads is not None and not part.minimum * (1 - 1e-9) <= farads <= part.maximum * (1 + 1e-9):
        low, high, found = (
            format_quantity(v, "F", digits=6, trim=True) for v in (part.minimum, part.maximum, farads)
        )
        yield Breach(
            key, "out_of_range", f"network.{name} reaches {low} to {high}; found {found}: read it again"
        )


def _tap(given: "readings.Measured", description: "models.Description", here: KeyPath) -> Iterator[Breach]:
    part = getattr(description.network, given.coil)
    if part is None or not part.winding:
        yield conflict(
            (*here, "turns"),
            f"network.{given.coil} has no winding to count turns on; add [[network.{given.coil}.winding]] tables",
        )
    elif given.turns is not None and given.turns > part.turns * (1 + 1e-9):
        yield Breach(
            (*here, "turns"),
            "turns_beyond_winding",
            f"the winding has {part.turns:g} turns; found {given.turns:g}",
        )


def _hertz(value: float) -> str:
    return format_quantity(value, "Hz")
