"""Readings beside what was calculated, and whether they agree."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from netsim.analysis.bench.forward import Forward
from netsim.analysis.bench.readings import UNITS, Reading, readings
from netsim.analysis.uncertainty.draws import SAMPLES
from netsim.analysis.uncertainty.sampling import draw
from netsim.circuit.assembly import Variants
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.description.reader import Amplifier
from netsim.verdict.spread import LEVELS

_ROUNDING = 1e-9
"""Share of an impedance below which samples differ by what their mean was rounded alone."""


@dataclass(frozen=True)
class Compared:
    """One reading; complex values are impedances, all SI.

    Attributes
    ----------
    line : int
        Of its table in the file.
    what, kind, unit : str
        Kind of the reading, of the value, and its unit.
    band : str or None
    frequency_hertz : float or None
    note : str or None
        The owner's.
    computed, measured : complex or float
    computed_half_width : float
        Half of the range that holds 95 % of the amplifiers within the limits; of an impedance its radius.
    measured_half_width : float
    en : float
        ``|difference| / sqrt(U_c^2 + U_m^2)`` (ISO 13528:2015, 9.7); up to 1 agrees.
    """

    line: int
    what: str
    kind: str
    unit: str
    band: str | None
    frequency_hertz: float | None
    note: str | None
    computed: complex | float
    computed_half_width: float
    measured: complex | float
    measured_half_width: float
    en: float

    @property
    def agrees(self) -> bool:
        """Whether the reading agrees with what is calculated."""
        return self.en <= 1


class Computed(NamedTuple):
    """Readings, what they would be by the description, and in every amplifier within its limits, ``(samples,)``."""

    readings: Sequence[Reading]
    nominal: Sequence[complex | float]
    sampled: Sequence[ComplexArray | FloatArray]


def computed(amplifier: Amplifier, samples: int = SAMPLES) -> Computed:
    """Compute what the readings of a file would be.

    Raises
    ------
    DescriptionError
        If a measurement file is unusable.
    """
    found = readings(amplifier)
    if not found:
        return Computed((), (), ())
    forward = Forward.of(amplifier, found)
    nominal = [values[0] for values in forward.computed(Variants())]
    if amplifier.inputs:
        return Computed(found, nominal, forward.sampled(draw(amplifier, samples)))
    return Computed(found, nominal, [np.array([value]) for value in nominal])


def beside(
    amplifier: Amplifier,
    found: Sequence[Reading],
    nominal: Sequence[complex | float],
    sampled: Sequence[ComplexArray | FloatArray],
) -> tuple[Compared, ...]:
    """Return readings beside calculated values and their samples, each of shape ``(samples,)``."""
    bands = amplifier.description.bands
    rows = []
    for reading, value, values in zip(found, nominal, sampled, strict=True):
        half = half_width(values)
        apart = abs(value - reading.value)
        together = float(np.hypot(half, reading.half_width))
        rows.append(
            Compared(
                line=reading.line,
                what=reading.what,
                kind=reading.kind,
                unit=UNITS[reading.kind],
                band=None if reading.band is None else bands[reading.band].name,
                frequency_hertz=reading.frequency,
                note=reading.given.note,
                computed=complex(value) if reading.kind == "impedance" else float(np.real(value)),
                computed_half_width=half,
                measured=reading.value,
                measured_half_width=reading.half_width,
                en=float(apart / together),
            )
        )
    return tuple(rows)


def half_width(values: ComplexArray | FloatArray) -> float:
    """Return half of the range that holds 95 % of samples; of complex ones the radius about their mean."""
    if np.iscomplexobj(values):
        middle = values.mean()
        radius = float(np.quantile(np.abs(values - middle), LEVELS[1] - LEVELS[0]))
        return 0.0 if radius < _ROUNDING * abs(middle) else radius
    low, high = np.quantile(values, LEVELS)
    return float(high - low) / 2
