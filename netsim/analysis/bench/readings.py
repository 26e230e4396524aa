"""The readings of a file as numbers: what was read, how well, and at which settings."""

from dataclasses import dataclass
from typing import Literal

from netsim.circuit.reflection import impedance_of
from netsim.description.dial import Dial
from netsim.description.models.capacitors import VariableCapacitor
from netsim.description.models.measured import DEFAULT_SHARE, Measured
from netsim.description.reader import Amplifier
from netsim.description.touchstone import load_reading

Kind = Literal["impedance", "swr", "output", "inductance", "q", "capacitance"]

UNITS: dict[Kind, str] = {
    "impedance": "ohm",
    "swr": "1",
    "output": "W",
    "inductance": "H",
    "q": "1",
    "capacitance": "F",
}


@dataclass(frozen=True)
class Reading:
    """One reading.

    Attributes
    ----------
    number, line : int
        Which ``[[measured]]`` table it stands in, and its line; -1 and 0 of what could be read.
    kind : str
        What was read; two readings may stand in one table.
    what : str
        As the file has it.
    value : complex or float
        SI.
    half_width : float
        How far it may be off to either side; of an impedance in any direction.
    band : int or None
        Index of the band it was read on.
    frequency : float or None
        [Hz]; None where that is not known and does not matter.
    tune, load : float or None
        Settings [F]; None where it was tuned.
    given : Measured
        The table.
    alone : float or None
        Of a capacitance, what the dial says without stray [F].
    """

    number: int
    line: int
    kind: Kind
    what: str
    value: complex | float
    half_width: float
    band: int | None
    frequency: float | None
    tune: float | None
    load: float | None
    given: Measured
    alone: float | None = None

    @property
    def deviation(self) -> float:
        """Standard uncertainty of each of its numbers: half-width over root 3 (JCGM 100:2008, 4.3.7)."""
        return self.half_width / 3**0.5


def readings(amplifier: Amplifier) -> tuple[Reading, ...]:
    """Return all readings of a file, in its order; of a measurement file one for each of its frequencies.

    Raises
    ------
    DescriptionError
        If a measurement file is unusable.
    """
    return tuple(
        reading
        for number, given in enumerate(amplifier.description.measured)
        for reading in _of_table(amplifier, number, given)
    )


def _of_table(amplifier: Amplifier, number: int, given: Measured) -> list[Reading]:
    description = amplifier.description
    line = amplifier.position("measured", number).line
    band = None if given.band is None else amplifier.band_index(given.band)
    network = description.network
    tune = setting(given.tune, given.tune_dial, network.tune_capacitor)
    load = setting(given.load, given.load_dial, network.load_capacitor)

    def one(kind: Kind, value: complex | float, half: float, frequency: float | None) -> Reading:
        alone = None if given.part is None else setting(None, given.dial, getattr(network, given.part))
        return Reading(number, line, kind, given.what, value, half, band, frequency, tune, load, given, alone)

    if given.what == "cold match":
        if given.file is not None:
            measurement = load_reading(amplifier, number)
            seen = impedance_of(measurement.scattering[:, 0, 0], measurement.reference)
            share = (None if given.uncertainty is None else given.uncertainty.share) or DEFAULT_SHARE
            return [
                one("impedance", complex(z), float(share * abs(z)), float(f))
                for z, f in zip(seen, measurement.frequency, strict=True)
            ]
        if given.impedance is not None:
            return [one("impedance", given.impedance, given.half_width("impedance"), given.frequency)]
        assert given.swr is not None  # by the rules of a reading
        return [one("swr", given.swr.value, given.half_width("swr"), given.frequency)]
    if given.what == "output":
        watts, half = output_of(given, description.antenna.resistance)
        return [one("output", watts, half, given.frequency)]
    if given.what == "capacitance":
        assert given.capacitance is not None
        return [one("capacitance", given.capacitance.value, given.half_width("capacitance"), None)]
    assert given.inductance is not None
    found = [one("inductance", given.inductance.value, given.half_width("inductance"), given.frequency)]
    if given.q is not None:
        found.append(one("q", given.q.value, given.half_width("q"), given.frequency))
    return found


def output_of(given: Measured, antenna_resistance: float) -> tuple[float, float]:
    """Return the output that a reading says, and its half-width [W].

    Notes
    -----
    ``V^2 / 2R`` of a peak voltage; ``P0 (d / d0)^2`` of a deflection d on a screen that showed d0 at P0. A square
    doubles the relative half-width; independent ones add in squares.
    """
    if given.output is not None:
        return given.output.value, given.half_width("output")
    if given.voltage_peak is not None:
        volts = given.voltage_peak.value
        watts = (
            volts**2 / 2 / (antenna_resistance if given.load_resistance is None else given.load_resistance)
        )
        return watts, 2 * given.half_width("voltage_peak") / volts * watts
    assert given.deflection is not None
    assert given.reference_deflection is not None
    assert given.reference_output is not None
    watts = given.reference_output.value * (given.deflection.value / given.reference_deflection.value) ** 2
    shares = [
        weight * given.half_width(key) / getattr(given, key).value
        for key, weight in (("deflection", 2), ("reference_deflection", 2), ("reference_output", 1))
    ]
    return watts, watts * sum(share**2 for share in shares) ** 0.5


def setting(farads: float | None, dial: float | None, part: VariableCapacitor) -> float | None:
    """Return the setting of a capacitor [F] as given, or by its dial; None where neither was read."""
    if dial is None:
        return farads
    return float(Dial(part.dial).capacitance(dial))
