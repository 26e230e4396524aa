"""The bench in words: cautions, readings, losses, what is known after a fit, what to read next."""

import math
from collections.abc import Iterable, Sequence

from netsim.advice.bench.bench import Pointer
from netsim.advice.bench.cold_test import Resistors
from netsim.advice.bench.comparison import Compared
from netsim.advice.fit.fit import Fit, Unknown
from netsim.advice.fit.next_reading import Inseparable, NextReading
from netsim.description.formatting import format_quantity
from netsim.verdict.losses import OUTPUT
from netsim.verdict.result import BandResult, Loss

CAUTIONS = (
    "A plate supply kills, also when it is off. Before a cold test: unplugged, waited, discharged through a bleeder, "
    "then shorted to chassis with an insulated stick, and the short left on until the resistor is to go in. Never "
    "trust a bleeder, a meter or an interlock. Tube and supply stay dead for as long as the analyser is connected. "
    "Take the resistor out before the supply is plugged in again. Follow local codes and licensed practice."
)
"""What stands with every cold test."""

AFTERWARDS = (
    "Figures after the fit are of the amplifier in the middle of the new limits, ranges over the amplifiers that all "
    "readings together admit. A file can only have limits of each quantity by itself: check of the fitted file "
    "gives somewhat wider ranges."
)
"""Why one quantity has several figures about a fit."""

NO_LIMITS = "Nothing in the file has limits, so there is nothing to fit: write some, such as 320 pF +- 5 %."

NOT_EXPLAINED = (
    "Chance exceeds such a chi-square less than once in a hundred cases: nothing is adopted, the file stays "
    "as it is."
)

MOST_SUSPECTS = 8
"""How many of the faults that were tried are told."""

_EQUAL = 0.01
"""Share of the output by which bands may differ and count as equal."""

_PLACES = {
    "output": "antenna",
    "leads": "coil's leads, switch, cabinet",
    "mismatch": "mismatch (never given)",
    "filter": "filter",
}


def pair(resistors: Resistors) -> str:
    """Write one resistor, or two with how they are joined."""
    shown = [format_quantity(value, "ohm", trim=True) for value in resistors.values]
    if resistors.joined == "alone":
        return shown[0]
    return f"{shown[0]} and {shown[1]} in {resistors.joined}"


def impedance(value: complex) -> str:
    """Write resistance and reactance [ohm]."""
    sign = "-" if value.imag < 0 else "+"
    return f"{value.real:.4g} {sign} {abs(value.imag):.3g}j"


def with_range(value: complex | float, half: float, unit: str) -> str:
    """Write a value and how far it may be off."""
    if isinstance(value, complex):
        return f"{impedance(value)} ± {half:.2g} Ω" if half else f"{impedance(value)} Ω"
    if not half:
        return format_quantity(value, unit)
    if unit == "1":
        return f"{value:.3g} ± {half:.2g}"
    return f"{format_quantity(value, unit)} ± {format_quantity(half, unit, digits=2)}"


def reading_name(entry: Compared) -> str:
    """Name what was read; of two values in one table each."""
    return entry.what if entry.kind in ("impedance", entry.what) else f"{entry.what}, {entry.kind}"


def en_words(entry: Compared) -> str:
    """Write E_n with two places, more where rounding would hide which side of 1 it is."""
    for places in range(2, 8):
        text = f"{entry.en:.{places}f}"
        if entry.en == 1 or float(text) != 1:
            break
    return text


def place_name(place: str) -> str:
    """Name where power goes."""
    return _PLACES.get(place, place.replace("_", " "))


def loss_range(loss: Loss) -> str:
    """Write the range of a loss; nothing where none was sampled."""
    if loss.watt_low is None or loss.watt_high is None:
        return ""
    return f"{format_quantity(loss.watt_low, 'W')} to {format_quantity(loss.watt_high, 'W')}"


def pointer_words(pointer: Pointer) -> str:
    """Say what a reading makes of a loss."""
    return (
        f"{pointer.band}, line {pointer.line}: {place_name(pointer.place)} loses "
        f"{format_quantity(abs(pointer.moved_watt), 'W')} {'more' if pointer.moved_watt > 0 else 'less'} than the "
        f"limits alone let expect ({abs(pointer.deviations):.1f} standard deviations), "
        f"{format_quantity(pointer.watt, 'W')}"
    )


def why_less(bands: Sequence[BandResult]) -> str:
    """Say why the band of least output gives less than that of most; nothing of one band, or of equal ones.

    The terms are the differences of the loss tables, largest first; what makes less than a tenth of the whole
    difference is added up. Of outputs that are alike, `_EQUAL`, nothing is said.
    """
    tables = {band.name: {loss.place: loss for loss in band.losses} for band in bands}
    outputs = {name: table[OUTPUT].watt for name, table in tables.items()}
    least, most = min(outputs, key=outputs.__getitem__), max(outputs, key=outputs.__getitem__)
    gap = outputs[most] - outputs[least]
    if gap < _EQUAL * outputs[most]:
        return ""
    here, there = tables[least], tables[most]
    terms = {
        place_name(place): _watt(here, place) - _watt(there, place)
        for place in {**here, **there}
        if place != OUTPUT
    }
    terms["not given by the tube"] = plate_power(there.values()) - plate_power(here.values())
    told = sorted((term for term in terms.items() if abs(term[1]) >= gap / 10), key=lambda term: -term[1])
    rest = gap - sum(watt for _, watt in told)
    if abs(rest) >= gap / 100:
        told.append(("all else", rest))
    shown = [
        f"{name} {format_quantity(abs(watt), 'W')} {'more' if watt > 0 else 'less'}" for name, watt in told
    ]
    return (
        f"{least} gives {format_quantity(outputs[least], 'W')}, {format_quantity(gap, 'W')} less than {most} with "
        f"{format_quantity(outputs[most], 'W')}. What is lost on {least}: {'; '.join(shown)}."
    )


def plate_power(losses: Iterable[Loss]) -> float:
    """Return what a loss table is shares of: the power that the stage would give into its plate load [W]."""
    output = next(loss for loss in losses if loss.place == OUTPUT)
    return output.watt / output.share


def _watt(table: dict[str, Loss], place: str) -> float:
    return table[place].watt if place in table else 0.0


def chi_square_words(found: Fit) -> str:
    """Say whether the limits explain the readings."""
    return (
        f"The readings are {'' if found.explained else 'not '}explained within the limits: chi-square "
        f"{found.chi_square:.1f} of {found.degrees} number{'s' * (found.degrees > 1)} read."
    )


def counts_moved(found: Fit) -> str:
    """Say how many findings there were before a fit and are after it; nothing where there is no after."""
    if found.after is None:
        return ""
    before, after = (
        "{over} over, {close} close and {unsure} unsure".format(**one.verdict.counts)
        for one in (found.before, found.after)
    )
    return f"{before} become {after}"


def measure_next(found: Fit) -> str:
    """Name the reading that would tell most, and what it settles; nothing where none would."""
    if found.measure_next is None:
        return ""
    settles = f"it settles {found.measure_next.settles:.1f} of the unsure findings in the mean"
    return f"{next_reading(found.measure_next)}; {settles}"


def limits_before(unknown: Unknown) -> str:
    """Write a quantity and its limits as the file has them, or as they were assumed."""
    return _limits(unknown.unit, unknown.nominal, unknown.low, unknown.high)


def limits_after(unknown: Unknown) -> str:
    """Write the best fit of a quantity, and what holds 95 % after it."""
    return _limits(unknown.unit, unknown.fitted, unknown.fitted_low, unknown.fitted_high)


def _limits(unit: str, *figures: float) -> str:
    if unit == "rad":
        figures, unit = tuple(math.degrees(figure) for figure in figures), "deg"
    value, low, high = (format_quantity(figure, unit, trim=True) for figure in figures)
    return f"{value} ({low} to {high})"


def told_apart(unknown: Unknown) -> str:
    """Say whether the readings tell a quantity apart from the others."""
    return "told apart" if unknown.told_apart else "not told apart"


def inseparable_words(found: Inseparable) -> str:
    """Name two quantities that cannot be told apart, and the reading that would."""
    helps = "no single reading would" if found.reading is None else f"{next_reading(found.reading)} would"
    return f"{found.one} and {found.other} (correlation {found.correlation:+.2f}); {helps}"


def next_reading(reading: NextReading) -> str:
    """Name a reading that could be made."""
    if reading.what == "cold match":
        hertz = format_quantity(reading.frequency_hertz, "Hz")
        return f"a cold match on {reading.band} at {hertz}"
    if reading.what == "inductance":
        name = "output coil" if reading.coil == "output_coil" else "coil"
        return f"the inductance of the {name} to its tap at {reading.turns:g} turns"
    assert reading.part is not None
    return f"the capacitance of the {reading.part.replace('_', ' ')} at dial {reading.dial:g}"
