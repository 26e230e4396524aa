"""The next reading worth making, and readings that tell two unknowns apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr, ndtri

from netsim.advice.bench.cold_test import cold_tests
from netsim.advice.fit.least_squares import computed, sizes
from netsim.analysis.bench.forward import Forward
from netsim.analysis.bench.readings import Kind, Reading
from netsim.circuit.assembly import Variants
from netsim.circuit.elements import FloatArray
from netsim.description.dial import Dial
from netsim.description.inputs import Input
from netsim.description.models.measured import DEFAULT_SHARE, Measured
from netsim.description.reader import Amplifier
from netsim.verdict.spread import Place, Spread

_SURE_DEVIATIONS = 1.959964
"""Between these lies 95 % of a normal distribution."""

_WORTH = 0.25
"""Findings that a reading must settle, in the mean, to be worth naming."""


@dataclass(frozen=True)
class NextReading:
    """A reading that was not made yet.

    Attributes
    ----------
    what : str
        As in the file.
    band : str or None
    frequency_hertz : float or None
    coil, part : str or None
        Of an inductance, and of a capacitance.
    turns, dial : float or None
    settles : float
        How many of the findings that are unsure now it settles, in the mean over what it may show.
    """

    what: str
    band: str | None
    frequency_hertz: float | None
    coil: str | None
    turns: float | None
    part: str | None
    dial: float | None
    settles: float


def candidates(amplifier: Amplifier) -> tuple[Reading, ...]:
    """Return what could be read: a cold match on each band, inductances to each tap, capacitances half-way.

    Each is off by the usual share of itself. A capacitance needs a dial table to be told in the file.
    """
    description, found = amplifier.description, []
    for test in cold_tests(amplifier):
        given = Measured.model_construct(
            what="cold match",
            band=test.band,
            plate_resistor=test.resistors.resistance,
            plate_resistor_inductance=0.0,
            plate_resistor_capacitance=0.0,
        )
        settings, band = (test.tune_farad, test.load_farad), amplifier.band_index(test.band)
        found.append(_candidate("impedance", given, band, test.frequency_hertz, settings))
    for coil in ("coil", "output_coil"):
        turns = {getattr(band, f"{coil}_turns") for band in description.bands} - {None}
        for tap in sorted(turns):
            given = Measured.model_construct(what="inductance", coil=coil, turns=tap)
            found.append(_candidate("inductance", given))
    for name in ("tune_capacitor", "load_capacitor"):
        part = getattr(description.network, name)
        if part.dial:
            figure = float(np.mean([min(part.dial)[0], max(part.dial)[0]]))
            given = Measured.model_construct(what="capacitance", part=name, dial=figure)
            alone = float(Dial(part.dial).capacitance(figure))
            found.append(replace(_candidate("capacitance", given), alone=alone))
    forward = Forward.of(amplifier, found)
    nominal = [values[0] for values in forward.computed(Variants())]
    return tuple(
        replace(reading, value=value, half_width=DEFAULT_SHARE * abs(value))
        for reading, value in zip(found, nominal, strict=True)
    )


def _candidate(
    kind: Kind,
    given: Measured,
    band: int | None = None,
    frequency: float | None = None,
    settings: tuple[float | None, float | None] = (None, None),
) -> Reading:
    return Reading(-1, 0, kind, given.what, 0.0, 0.0, band, frequency, *settings, given)


def next_reading(
    amplifier: Amplifier,
    read: Sequence[Reading],
    predicted: Sequence[FloatArray],
    spreads: Mapping[Place, Spread],
) -> NextReading | None:
    """Find the reading that leaves the fewest findings unsure; None where nothing is, or nothing would settle any.

    Parameters
    ----------
    amplifier, read : Amplifier, sequence of Reading
        What could be read.
    predicted : sequence of ndarray
        What each would be in every amplifier drawn after the readings so far, shape ``(draws, numbers)``.
    spreads : mapping of Place to Spread
        Of all findings, in the same amplifiers.

    Notes
    -----
    All as normal distributions: with a share R^2 of a finding's variance told by the reading (linear regression,
    its uncertainty among what it is), the expected used fraction after it spreads by R s and is then known to
    ``s sqrt(1 - R^2)``. Settled is what then lies more than 1.96 of that off its limit.
    """
    unsure = [s for s in spreads.values() if s.unsure]
    if not unsure or not read:
        return None
    used = np.stack([_bounded(spread) for spread in unsure])
    settled = [
        float(_settled(used, np.array([s.share_over for s in unsure]), values, reading.deviation).sum())
        for reading, values in zip(read, predicted, strict=True)
    ]
    best = int(np.argmax(settled))
    if settled[best] < _WORTH:
        return None
    return _named(amplifier, read[best], settled[best])


def _named(amplifier: Amplifier, reading: Reading, settles: float) -> NextReading:
    given = reading.given
    return NextReading(
        what=reading.what,
        band=None if reading.band is None else amplifier.description.bands[reading.band].name,
        frequency_hertz=reading.frequency,
        coil=given.coil if reading.what == "inductance" else None,
        turns=given.turns,
        part=given.part,
        dial=given.dial,
        settles=settles,
    )


def _bounded(spread: Spread) -> FloatArray:
    """Give used fractions as distances from the limit that stay finite: their logarithm, at most that of ten."""
    assert spread.used is not None  # of what is unsure
    return np.asarray(np.log(np.clip(spread.used, 0.1, 10.0)))


def _told(about: FloatArray, read: FloatArray, deviation: float) -> tuple[FloatArray, FloatArray]:
    """Give the covariance of a reading, its uncertainty in it, and that of values about their means with it."""
    centred = read - read.mean(axis=0)
    spread = centred.T @ centred / len(read) + np.eye(read.shape[1]) * deviation**2
    return spread, about @ centred / len(read)


def _settled(used: FloatArray, share_over: FloatArray, read: FloatArray, deviation: float) -> FloatArray:
    """Give the chance that each finding is settled by a reading."""
    about = used - used.mean(axis=1, keepdims=True)
    spread, shared = _told(about, read, deviation)
    variance = np.maximum((about**2).mean(axis=1), 1e-12)
    told = np.clip(np.einsum("fi,ij,fj->f", shared, np.linalg.inv(spread), shared) / variance, 0.0, 1 - 1e-9)
    # How far the limit is off the middle, in standard deviations, so that the share over is what was found.
    off = ndtri(np.clip(share_over, 1e-6, 1 - 1e-6))
    reach, left = np.sqrt(np.maximum(told, 1e-9)), _SURE_DEVIATIONS * np.sqrt(1 - told)
    return np.asarray((ndtr((off - left) / reach) + ndtr((-off - left) / reach)) * (told > 1e-6))


@dataclass(frozen=True)
class Inseparable:
    """Two unknowns that the readings so far change alike, and the reading that would tell them apart."""

    one: str
    other: str
    correlation: float
    reading: NextReading | None


def inseparable(
    amplifier: Amplifier,
    inputs: Sequence[Input],
    places: FloatArray,
    read: Sequence[Reading],
    predicted: Sequence[FloatArray],
    beyond: float = 0.9,
) -> tuple[Inseparable, ...]:
    """Name pairs of unknowns whose correlation after the readings is beyond a limit.

    The reading named is the one that by linear regression leaves the least correlation; none where none brings it
    within the limit.
    """
    if len(inputs) < 2:
        return ()
    spread = np.cov(places.T)
    deviations = np.sqrt(np.maximum(np.diag(spread), 1e-18))
    correlation = spread / np.outer(deviations, deviations)
    found = []
    for i, j in zip(*np.nonzero(np.triu(np.abs(correlation) > beyond, 1)), strict=True):
        pair = places[:, [i, j]] - places[:, [i, j]].mean(axis=0)
        left = [
            _correlation_after(pair, values, r.deviation) for r, values in zip(read, predicted, strict=True)
        ]
        best = int(np.argmin(np.abs(left))) if left else None
        helps = best is not None and abs(left[best]) < beyond
        named = _named(amplifier, read[best], 0.0) if best is not None and helps else None
        found.append(Inseparable(inputs[i].key, inputs[j].key, float(correlation[i, j]), named))
    return tuple(sorted(found, key=lambda pair: -abs(pair.correlation)))


def _correlation_after(pair: FloatArray, read: FloatArray, deviation: float) -> float:
    spread, shared = _told(pair.T, read, deviation)
    after = pair.T @ pair / len(read) - shared @ np.linalg.solve(spread, shared.T)
    return float(after[0, 1] / np.sqrt(max(after[0, 0] * after[1, 1], 1e-30)))


def predicted(forward: Forward, inputs: Sequence[Input], values: FloatArray) -> list[FloatArray]:
    """Compute readings in drawn amplifiers, each of shape ``(draws, numbers)``."""
    every = computed(forward, inputs, values)
    return np.split(every, np.cumsum(sizes(forward.readings))[:-1], axis=1)
