"""The fit: what readings make of what is known, of the verdict, and of what may be wrong."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from netsim.advice.bench.comparison import Compared, beside
from netsim.advice.fit.faults import Suspect, suspects
from netsim.advice.fit.least_squares import PRIOR_DEVIATION, Fitted, LeastSquares, sizes
from netsim.advice.fit.next_reading import (
    Inseparable,
    NextReading,
    candidates,
    inseparable,
    next_reading,
    predicted,
)
from netsim.advice.fit.posterior import Posterior, posterior
from netsim.analysis import Analysis, Engine, analyse
from netsim.analysis.bench.forward import Forward
from netsim.analysis.bench.readings import readings
from netsim.analysis.uncertainty.draws import values_at, variants
from netsim.analysis.uncertainty.sampling import Draws
from netsim.circuit.assembly import inputs_of
from netsim.description.reader import Amplifier
from netsim.errors import Problem, UsageError
from netsim.verdict.findings import by_identity, identity
from netsim.verdict.result import Finding

SAMPLES = 1024
"""Amplifiers drawn after the readings, of which the verdict tells; before them as many as of any verdict."""

TOLD_APART = 0.7
"""Share of its standard deviation within the limits below which an unknown's has fallen by the readings."""

CONTRADICTS = 3.0
"""Standard deviations by which a reading is off what all the others let expect, to contradict them."""


_MOVED = 0.05
"""Share of its limits by which an unknown must have moved, or they narrowed, to be written."""

_PREFIXES = ((1e-12, "p"), (1e-9, "n"), (1e-6, "u"), (1e-3, "m"), (1.0, ""), (1e3, "k"), (1e6, "M"))


@dataclass(frozen=True)
class Unknown:
    """A quantity with limits, before and after the readings; SI.

    ``fitted`` is the best fit, ``fitted_low`` and ``fitted_high`` hold 95 % after it.
    """

    key: str
    line: int
    unit: str
    source: str
    nominal: float
    low: float
    high: float
    fitted: float
    fitted_low: float
    fitted_high: float
    told_apart: bool


@dataclass(frozen=True)
class FittedReading:
    """A reading beside what the best fit makes of it.

    ``off`` is by how many standard deviations the others miss it; ``contradicts`` tells whether that is more than
    its uncertainty allows while the others agree with each other.
    """

    compared: Compared
    off: float
    contradicts: bool


@dataclass(frozen=True)
class Fit:
    """All of it.

    Attributes
    ----------
    amplifier : Amplifier
        As described.
    unknowns : tuple of Unknown
    readings : tuple of FittedReading
    chi_square : float
    degrees : int
    explained : bool
        Whether the best fit is one that chance lets expect; only then it is adopted.
    inseparable : tuple of Inseparable
    suspects : tuple of Suspect
        What may be wrong where it is not explained.
    measure_next : NextReading or None
    before : Analysis
        The verdict on the file.
    after : Analysis or None
        After the readings, on the amplifier of `text`; None where they are not explained.
    text : str
        The file with the fitted values and limits; as it is where nothing is adopted.
    diff : str
        From the file to it.
    counted : float
        Share of the draws that counted, of `Posterior`.
    """

    amplifier: Amplifier
    unknowns: tuple[Unknown, ...]
    readings: tuple[FittedReading, ...]
    chi_square: float
    degrees: int
    explained: bool
    inseparable: tuple[Inseparable, ...]
    suspects: tuple[Suspect, ...]
    measure_next: NextReading | None
    before: Analysis
    after: Analysis | None
    text: str
    diff: str
    counted: float


def fit(amplifier: Amplifier, *, engine: Engine = "both", before: Analysis | None = None) -> Fit:
    """Fit what is known of an amplifier within limits to what its bench showed.

    The verdict before, of all bands, is taken where there is one already; after it the same antennas are asked for.

    Raises
    ------
    UsageError
        ``no_readings``.
    DescriptionError, SolveError
        As `analyse`; a measurement file that is unusable.
    """
    measured = readings(amplifier)
    if not measured:
        message = "the file has no readings: write what the bench showed as [[measured]] tables, or run netsim bench"
        raise UsageError(Problem("no_readings", message, amplifier.path))
    inputs = inputs_of(amplifier)
    problem = LeastSquares(inputs, Forward.of(amplifier, measured))
    best = problem.fitted()
    known = posterior(problem, best.linear)
    unknowns = _unknowns(problem, best, known)
    explained = best.chi_square <= problem.most_chi_square
    read = _readings(amplifier, problem, best, known)
    before = analyse(amplifier, engine=engine) if before is None else before
    found = Fit(
        amplifier, unknowns, read, best.chi_square, problem.degrees, explained, (), (), None,
        before, None, amplifier.text, "", known.share,
    )  # fmt: skip
    if not explained:
        return replace(found, suspects=suspects(problem))
    written = amplifier.replace(limits_texts(unknowns))
    draws = Draws(inputs, known.places[:: max(1, len(known.places) // SAMPLES)], even=False)
    after = analyse(written, engine=engine, swr=before.swr, draws=draws if inputs else None, samples=1)
    could = candidates(amplifier)
    shown = predicted(Forward.of(amplifier, could), inputs, draws.values)
    return replace(
        found,
        inseparable=inseparable(amplifier, inputs, draws.places, could, shown),
        measure_next=next_reading(amplifier, could, shown, after.spreads.findings),
        after=after,
        text=written.text,
        diff=amplifier.diff(written),
    )


def _unknowns(problem: LeastSquares, best: Fitted, known: Posterior) -> tuple[Unknown, ...]:
    inputs = problem.inputs
    fitted = values_at(inputs, best.linear.places)
    drawn = values_at(inputs, known.places)
    low, high = np.quantile(drawn, (0.025, 0.975), axis=0) if inputs else (fitted, fitted)
    deviations = known.places.std(axis=0)
    return tuple(
        Unknown(
            entry.key,
            entry.line,
            entry.unit,
            entry.source,
            entry.nominal,
            entry.low,
            entry.high,
            float(fitted[n]),
            float(min(low[n], fitted[n])),
            float(max(high[n], fitted[n])),
            bool(deviations[n] < TOLD_APART * PRIOR_DEVIATION),
        )
        for n, entry in enumerate(inputs)
    )


def limits_texts(unknowns: Sequence[Unknown]) -> Mapping[str, Any]:
    """Return what the file is to say of the unknowns that readings have changed, by key, such as ``"321 pF +- 4 pF"``.

    That is the middle of the 95 % limits and half their distance, as limits in a file are even to both sides.
    """
    return {u.key: limited_text(u.fitted_low, u.fitted_high, u.unit) for u in unknowns if _is_changed(u)}


def _is_changed(unknown: Unknown) -> bool:
    width = unknown.high - unknown.low
    middle = (unknown.fitted_low + unknown.fitted_high) / 2
    narrowed = 1 - (unknown.fitted_high - unknown.fitted_low) / (0.95 * width)
    moved = abs(middle - (unknown.low + unknown.high) / 2) / width
    return unknown.told_apart or narrowed > _MOVED or moved > _MOVED


def limited_text(low: float, high: float, unit: str) -> str:
    """Write an SI value that lies between limits: two digits of the limits, as many places of the value.

    Units are those of `Input`; radians are written in degrees.
    """
    if unit == "rad":
        low, high, unit = math.degrees(low), math.degrees(high), "deg"
    middle, half = (low + high) / 2, (high - low) / 2
    scale, prefix = 1.0, ""
    if unit not in ("1", "deg", "degC", "dB"):
        for factor, letter in _PREFIXES:
            if abs(middle) >= factor * 0.9999:
                scale, prefix = factor, letter
    value, reach = middle / scale, max(half / scale, abs(middle / scale) * 1e-6)
    places = 1 - math.floor(math.log10(reach)) if reach > 0 else 4
    step = 10.0**-places
    shown, limits = _plain(value, places), _plain(math.ceil(reach / step - 1e-9) * step, places)
    if unit == "1":
        return f"{shown} +- {limits}"
    return f"{shown} {prefix}{unit} +- {limits} {prefix}{unit}"


def _plain(value: float, places: int) -> str:
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _readings(
    amplifier: Amplifier, problem: LeastSquares, best: Fitted, known: Posterior
) -> tuple[FittedReading, ...]:
    values = values_at(problem.inputs, best.linear.places[np.newaxis])
    nominal = problem.forward.computed(variants(problem.inputs, values))
    drawn = Draws(problem.inputs, known.places, even=False)
    rows = beside(
        amplifier, problem.readings, [computed[0] for computed in nominal], problem.forward.sampled(drawn)
    )
    off = _off_the_others(problem, best)
    explained = best.chi_square <= problem.most_chi_square
    return tuple(
        FittedReading(row, away, away > CONTRADICTS and (explained or _rest_agrees(problem, n, best)))
        for n, (row, away) in enumerate(zip(rows, off, strict=True))
    )


def _rest_agrees(problem: LeastSquares, number: int, best: Fitted) -> bool:
    """Tell whether all readings but one are explained."""
    kept = problem.readings[:number] + problem.readings[number + 1 :]
    rest = LeastSquares(problem.inputs, replace(problem.forward, readings=kept))
    return bool(kept) and rest.fitted(best.linear.places, most=15).chi_square <= rest.most_chi_square


def _off_the_others(problem: LeastSquares, best: Fitted) -> list[float]:
    """Give by how many standard deviations each reading is off what all others and the limits let expect.

    With H the share of the residuals that the fit follows, ``J (J'J + P)^-1 J'``, a residual r becomes ``(1 - H)^-1 r``
    where its reading is left out, with the covariance ``(1 - H)^-1``. Of an impedance, both parts together.
    """
    slopes, residuals = best.linear.slopes, best.linear.residuals
    count = slopes.shape[1]
    followed = slopes @ np.linalg.solve(slopes.T @ slopes + np.eye(count) / PRIOR_DEVIATION**2, slopes.T)
    found, start = [], 0
    for size in sizes(problem.readings):
        here = slice(start, start + size)
        left = np.eye(size) - followed[here, here]
        squared = float(residuals[here] @ np.linalg.solve(left + 1e-9 * np.eye(size), residuals[here]))
        found.append((squared / size) ** 0.5)
        start += size
    return found


def changes(found: Fit) -> list[tuple[Finding, Finding | None]]:
    """Return every finding of the file beside the same after the readings; None where it is gone."""
    if found.after is None:
        return []
    after = by_identity(found.after.verdict.findings)
    return [(finding, after.get(identity(finding))) for finding in found.before.verdict.findings]


def moved(found: Fit) -> list[tuple[Finding, Finding | None]]:
    """Return those of `changes` that are of another state after the readings, or known better or worse."""
    return [
        (was, now)
        for was, now in changes(found)
        if was.state != "not_rated" and (now is None or (was.state, was.unsure) != (now.state, now.unsure))
    ]
