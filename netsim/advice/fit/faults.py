"""What goes wrong on a bench, each as a changed amplifier or a changed reading that is fitted again."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import log
from typing import Literal

from netsim.advice.fit.least_squares import LeastSquares
from netsim.analysis.bench.forward import SHORTED_TURN, Forward
from netsim.analysis.bench.readings import Reading
from netsim.description.dial import Dial
from netsim.description.inputs import Input
from netsim.description.key_path import KeyPath
from netsim.description.models.tables import with_value

Code = Literal[
    "tap_step",
    "padding_missing",
    "padding_stuck",
    "dial_reversed",
    "gang_open",
    "shorted_turn",
    "blocking_low",
    "rms_for_peak",
]

_GANGS = (1 / 2, 2 / 3)
"""Share that is left of a capacitor of two gangs, and of three, one of them not connected."""

_LOW = 0.1
"""Of a blocking capacitor that is not what is printed on it."""

_SHORTED = Input("shorted turn", SHORTED_TURN, 0, 0.1, 0.01, 0.5, "1", "assumed")
"""Share of the coil's inductance that a shorted turn takes away."""


@dataclass(frozen=True)
class Suspect:
    """A fault, and how well the readings fit with it.

    Attributes
    ----------
    fault : str
        Code.
    band : str or None
        Where it is, if it is of one band.
    line : int or None
        Of the part, the band or the reading in the file.
    words : str
        What it is, in words.
    chi_square : float
        Of readings and limits with it.
    price : float
        What is added to the chi-square for each freedom more than without a fault, before suspects are ranked.
    explains : bool
        Whether the readings then agree.
    """

    fault: Code
    band: str | None
    line: int | None
    words: str
    chi_square: float
    price: float
    explains: bool


@dataclass(frozen=True)
class FaultModel:
    """A fault: what it is, where, and the readings with it; `more` is what is free in it."""

    fault: Code
    words: str
    key: KeyPath
    forward: Forward
    band: int | None = None
    more: tuple[Input, ...] = ()


def suspects(problem: LeastSquares) -> tuple[Suspect, ...]:
    """Try every fault alone, fitted again, and rank them, where the amplifier as described does not explain readings.

    The likeliest first: by chi-square and ``ln(numbers read)`` for each freedom, the fault itself and what is free in
    it (Schwarz's criterion; common practice).
    """
    amplifier = problem.forward.amplifier
    found = []
    for model in _fault_models(problem):
        tried = LeastSquares((*problem.inputs, *model.more), model.forward)
        fit = tried.fitted(most=20)
        price = log(max(2, problem.degrees)) * (1 + len(model.more))
        band = None if model.band is None else amplifier.description.bands[model.band].name
        line = amplifier.position(*model.key).line
        explains = fit.chi_square <= problem.most_chi_square
        found.append(Suspect(model.fault, band, line, model.words, fit.chi_square, price, explains))
    return tuple(sorted(found, key=lambda suspect: suspect.chi_square + suspect.price))


def _fault_models(problem: LeastSquares) -> Iterator[FaultModel]:
    forward = problem.forward
    read_on = sorted({r.band for r in problem.readings if r.band is not None})
    for band in read_on:
        yield from _tap_steps(forward, band)
        yield from _paddings_missing(forward, band)
    yield from _paddings_stuck(forward)
    for side in ("tune", "load"):
        yield from _dial_reversed(forward, side)
        yield from _gang_open(forward, side)
    words = "a shorted turn in the coil"
    yield FaultModel("shorted_turn", words, ("network", "coil"), forward, more=(_SHORTED,))
    blocking = forward.description.network.blocking_capacitor
    if blocking is not None:
        part = ("network", "blocking_capacitor")
        low = _off(forward, (*part, "capacitance"), blocking.capacitance * _LOW, _LOW)
        yield FaultModel("blocking_low", "the blocking capacitor has a tenth of its value", part, low)
    yield from _rms_for_peak(forward)


def _off(forward: Forward, path: KeyPath, value: float, factor: float) -> Forward:
    """Give a quantity another value, and its limits with it."""
    changed = with_value(forward.description, path, value)
    return replace(forward, description=changed, factors={**forward.factors, path: factor})


def _tap_steps(forward: Forward, index: int) -> Iterator[FaultModel]:
    band, coil = forward.description.bands[index], forward.description.network.coil
    key = "coil" if band.coil_turns is None else "coil_turns"
    path, present = ("bands", index, key), getattr(band, key)
    for steps in (-2, -1, 1, 2):
        value = present * 1.05**steps if key == "coil" else present + steps * coil.tap_step
        factor = 1.05**steps if key == "coil" else value / present
        if key == "coil" or 0 < value <= coil.turns:
            way = "on" if steps > 0 else "back"
            words = f"{band.name}: the tap {abs(steps)} step{'s' * (abs(steps) > 1)} {way}"
            yield FaultModel("tap_step", words, path, _off(forward, path, value, factor), index)


def _paddings_missing(forward: Forward, index: int) -> Iterator[FaultModel]:
    band = forward.description.bands[index]
    for side in ("tune_padding", "load_padding"):
        if getattr(band, side) is not None:
            path = ("bands", index, side)
            words = f"{band.name}: the {side.replace('_', ' ')} is not switched in"
            yield FaultModel("padding_missing", words, path, _off(forward, path, 0.0, 0.0), index)


def _paddings_stuck(forward: Forward) -> Iterator[FaultModel]:
    bands = forward.description.bands
    for side in ("tune_padding", "load_padding"):
        lacking = [n for n, other in enumerate(bands) if getattr(other, side) is None]
        for index, band in enumerate(bands):
            if index in lacking or not lacking:
                continue
            changed = forward.description
            for n in lacking:
                changed = with_value(changed, ("bands", n, side), getattr(band, side))
            words = f"the {side.replace('_', ' ')} of {band.name} is in on every band"
            stuck = replace(forward, description=changed)
            yield FaultModel("padding_stuck", words, ("bands", index, side), stuck)


def _dial_reversed(forward: Forward, side: str) -> Iterator[FaultModel]:
    part = getattr(forward.description.network, f"{side}_capacitor")
    if not part.dial:
        return
    dial, ends = Dial(part.dial), sum((min(part.dial)[0], max(part.dial)[0]))

    def turned(reading: Reading) -> Reading:
        figure = getattr(reading.given, f"{side}_dial")
        if figure is not None:
            return _set(reading, side, float(dial.capacitance(ends - figure)))
        if reading.given.part == f"{side}_capacitor" and reading.given.dial is not None:
            return replace(reading, alone=float(dial.capacitance(ends - reading.given.dial)))
        return reading

    readings = tuple(turned(reading) for reading in forward.readings)
    if readings != forward.readings:
        words = f"the {side} capacitor's dial was read from its other end"
        read_anew = replace(forward, readings=readings)
        yield FaultModel("dial_reversed", words, ("network", f"{side}_capacitor", "dial"), read_anew)


def _set(reading: Reading, side: str, farads: float) -> Reading:
    return replace(reading, tune=farads) if side == "tune" else replace(reading, load=farads)


def _gang_open(forward: Forward, side: str) -> Iterator[FaultModel]:
    name = f"{side}_capacitor"
    part = getattr(forward.description.network, name)
    for left in _GANGS:

        def halved(reading: Reading, left: float = left) -> Reading:
            farads = getattr(reading, side)
            if farads is not None:
                reading = _set(reading, side, farads * left)
            if reading.given.part == name and reading.alone is not None:
                reading = replace(reading, alone=reading.alone * left)
            return reading

        changed = forward.description
        for end in ("minimum", "maximum"):
            changed = with_value(changed, ("network", name, end), getattr(part, end) * left)
        words = f"one of {2 if left == 1 / 2 else 3} gangs of the {side} capacitor is not connected"
        readings = tuple(halved(reading) for reading in forward.readings)
        opened = replace(forward, description=changed, readings=readings)
        yield FaultModel("gang_open", words, ("network", name), opened)


def _rms_for_peak(forward: Forward) -> Iterator[FaultModel]:
    """Take outputs whose volts were rms as twice the power, each alone and all together."""
    every = [n for n, reading in enumerate(forward.readings) if reading.kind == "output"]
    for chosen in (*([n] for n in every), *([every] if len(every) > 1 else [])):
        readings = tuple(
            replace(r, value=r.value * 2, half_width=r.half_width * 2) if n in chosen else r
            for n, r in enumerate(forward.readings)
        )
        first = forward.readings[chosen[0]]
        which = f"the output of line {first.line} was" if len(chosen) == 1 else "all outputs were"
        yield FaultModel(
            "rms_for_peak",
            f"{which} worked out with rms volts taken for peak",
            ("measured", first.number),
            replace(forward, readings=readings),
            first.band if len(chosen) == 1 else None,
        )
