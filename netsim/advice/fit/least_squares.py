"""What readings say of the quantities that have limits: residuals, their slopes, the best fit."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import chdtri

from netsim.analysis.bench.forward import Forward
from netsim.analysis.bench.readings import Reading
from netsim.analysis.uncertainty.draws import drawn, places_of, values_at, variants
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.description.inputs import Input

PRIOR_DEVIATION = 12**-0.5
"""Of a place evenly between its limits, 0 to 1: half-width over root 3 (JCGM 100:2008, 4.3.7)."""

_STEP = 1e-4
_INSIDE = 1e-6
_STARTS = 128
SURE_SHARE = 0.01
"""A chi-square that chance exceeds less often than this is not explained."""


@dataclass(frozen=True)
class Linear:
    """The readings about one place between the limits, ``(d,)``: what is off, over its standard uncertainty.

    Residuals have the shape ``(numbers,)``, where an impedance is two, their slopes by the places ``(numbers, d)``.
    """

    places: FloatArray
    residuals: FloatArray
    slopes: FloatArray


@dataclass(frozen=True)
class Fitted:
    """The best fit: where it is, and how good.

    Attributes
    ----------
    linear : Linear
        About it.
    chi_square : float
        Of readings and limits together.
    """

    linear: Linear
    chi_square: float


@dataclass(frozen=True)
class LeastSquares:
    """Readings of an amplifier as they would be, of which d quantities are known within limits."""

    inputs: tuple[Input, ...]
    forward: Forward

    @property
    def readings(self) -> tuple[Reading, ...]:
        """What was read."""
        return self.forward.readings

    @cached_property
    def nominal(self) -> FloatArray:
        """Where the values of the file stand between their limits, shape ``(d,)``."""
        values = np.array([entry.nominal for entry in self.inputs])
        return np.asarray(np.clip(places_of(self.inputs, values), _INSIDE, 1 - _INSIDE))

    @cached_property
    def _measured(self) -> FloatArray:
        return np.asarray(numbers([np.array([reading.value]) for reading in self.readings])[0])

    @cached_property
    def _deviations(self) -> FloatArray:
        return np.repeat([reading.deviation for reading in self.readings], sizes(self.readings))

    @property
    def degrees(self) -> int:
        """How many numbers were read."""
        return len(self._deviations)

    @property
    def most_chi_square(self) -> float:
        """The chi-square that chance exceeds in one case of a hundred."""
        return float(chdtri(self.degrees, SURE_SHARE))

    def residuals(self, places: FloatArray) -> FloatArray:
        """Compute what is off, over its standard uncertainty, at places of shape ``(n, d)``; ``(n, numbers)``."""
        found = computed(self.forward, self.inputs, values_at(self.inputs, places))
        return np.asarray((found - self._measured) / self._deviations)

    def linear(self, places: FloatArray) -> Linear:
        """Compute residuals and slopes at a place, all differences in one go."""
        count = len(places)
        low, high = (np.clip(places + sign * _STEP, 0.0, 1.0) for sign in (-1, 1))
        moved = np.tile(places, (2 * count + 1, 1))
        every = np.arange(count)
        moved[1 + every, every], moved[1 + count + every, every] = low, high
        found = self.residuals(moved)
        slopes = (found[1 + count :] - found[1 : 1 + count]) / (high - low)[:, np.newaxis]
        return Linear(places, found[0], np.asarray(slopes.T))

    def fitted(self, start: FloatArray | None = None, most: int = 40) -> Fitted:
        """Find the best fit: bounded least squares, the limits as prior.

        Parameters
        ----------
        start : ndarray, optional
            Where to begin, shape ``(d,)``; by default at the values of the file, and where that does not lead to
            what the readings admit, at the best of some draws too.
        most : int
            Steps at most.

        Returns
        -------
        Fitted
            The least ``sum((computed - read)^2 / u^2) + sum((place - nominal)^2 / s^2)``, s the standard deviation
            of even limits, no place beyond its limits (scipy's ``least_squares``, trust region reflective).
        """
        if not self.inputs:
            linear = Linear(np.zeros(0), self.residuals(np.zeros((1, 0)))[0], np.zeros((self.degrees, 0)))
            return Fitted(linear, float((linear.residuals**2).sum()))
        first = self._descend(self.nominal if start is None else np.clip(start, _INSIDE, 1 - _INSIDE), most)
        if start is not None or first.chi_square <= self.most_chi_square:
            return first
        return min(first, self._descend(self._best_draw(), most), key=lambda fit: fit.chi_square)

    def _best_draw(self) -> FloatArray:
        tried = np.concatenate([self.nominal[np.newaxis], drawn(self.inputs, _STARTS)])
        off = (self.residuals(tried) ** 2).sum(axis=1) + self._from_prior(tried)
        return np.asarray(np.clip(tried[int(np.argmin(off))], _INSIDE, 1 - _INSIDE))

    def _from_prior(self, places: FloatArray) -> FloatArray:
        return np.asarray((((places - self.nominal) / PRIOR_DEVIATION) ** 2).sum(axis=-1))

    def _descend(self, start: FloatArray, most: int) -> Fitted:
        known: dict[bytes, Linear] = {}

        def at(places: FloatArray) -> Linear:
            key = places.tobytes()
            if key not in known:
                known[key] = self.linear(places.copy())
            return known[key]

        # Takes long to import, and a page of a file without readings has it at hand.
        from scipy.optimize import least_squares

        count = len(start)

        def off(places: FloatArray) -> FloatArray:
            return np.concatenate([at(places).residuals, (places - self.nominal) / PRIOR_DEVIATION])

        def slopes(places: FloatArray) -> FloatArray:
            return np.concatenate([at(places).slopes, np.eye(count) / PRIOR_DEVIATION])

        found = least_squares(
            off, start, jac=slopes, bounds=(0.0, 1.0), xtol=1e-6, ftol=1e-6, gtol=1e-6, max_nfev=most
        )
        return Fitted(at(found.x), float(2 * found.cost))


def sizes(readings: Sequence[Reading]) -> list[int]:
    """Return how many numbers each reading is: an impedance is two."""
    return [2 if reading.kind == "impedance" else 1 for reading in readings]


def computed(forward: Forward, inputs: Sequence[Input], values: FloatArray) -> FloatArray:
    """Compute readings in amplifiers with values of shape ``(n, d)``, as real numbers, shape ``(n, numbers)``."""
    step = max(1, 16384 // max(1, len(forward.readings)))
    blocks = [
        numbers(forward.computed(variants(inputs, values[start : start + step])))
        for start in range(0, len(values), step)
    ]
    return np.concatenate(blocks)


def numbers(computed: Sequence[ComplexArray | FloatArray]) -> FloatArray:
    """Return readings as real numbers, shape ``(copies, numbers)``: of an impedance its two parts."""
    columns: list[FloatArray] = []
    for values in computed:
        if np.iscomplexobj(values):
            columns += [values.real, values.imag]
        else:
            columns.append(np.asarray(values, dtype=float))
    return np.stack(columns, axis=-1)
