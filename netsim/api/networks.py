"""One band at any settings: arrays in, arrays out; numbers with units, as Python hands them over."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.description.reader import Amplifier
from netsim.description.units import parse_quantity

Values = str | ArrayLike
"""A text with a unit, such as ``"58 pF"``, or numbers in SI units."""


def value_of(value: Any, unit: str) -> Any:
    """Return numbers as they are, and texts as their values in a unit."""
    if isinstance(value, str):
        return parse_quantity(value, unit)
    if isinstance(value, list | tuple):
        return np.asarray([value_of(item, unit) for item in value])
    return np.asarray(value, dtype=np.float64)


@dataclass(frozen=True)
class Networks:
    """One band at many settings; arrays of the settings' shape, ``(...)``.

    Attributes
    ----------
    frequency, tune, load : ndarray
        [Hz], [F].
    plate_impedance : ndarray
        Complex [ohm].
    tuned : ndarray of bool
        Whether the plate sees its load within 0.1 %.
    loaded_q, efficiency, output, plate_dissipation : ndarray
        The powers in [W], with the pulse's voltage limit or in the tube's steady state.
    attenuation : ndarray
        Of orders 1 to 10 [dB], shape ``(..., 10)``.
    voltage_peak, current_rms, loss : dict of str to ndarray
        By part [V], [A], [W].
    """

    frequency: FloatArray
    tune: FloatArray
    load: FloatArray
    plate_impedance: ComplexArray
    tuned: BoolArray
    loaded_q: FloatArray
    efficiency: FloatArray
    output: FloatArray
    plate_dissipation: FloatArray
    attenuation: FloatArray
    voltage_peak: Mapping[str, FloatArray]
    current_rms: Mapping[str, FloatArray]
    loss: Mapping[str, FloatArray]


def networks(
    amplifier: Amplifier, band: str, *, tune: Values, load: Values, frequency: Values | None = None
) -> Networks:
    """Solve one band at any settings: arrays in, arrays out, in numpy alone.

    Parameters
    ----------
    amplifier : Amplifier
        Whose parts they are; neither capacitor's range limits the settings.
    band : str
        Its name.
    tune, load : array_like or str
        Settings of the variable capacitors without stray and padding [F], of shapes that broadcast.
    frequency : array_like or str, optional
        [Hz], of a shape that broadcasts with them; the band's first frequency by default.

    Returns
    -------
    Networks
        Without a cross-check by ngspice.

    Raises
    ------
    UsageError
        If there is no such band, or a setting is negative or not finite.
    BalanceError
        If a tube finds no steady state somewhere.

    Examples
    --------
    >>> import netsim
    >>> amplifier = netsim.read("circuits/old-tubes.toml")
    >>> found = netsim.networks(amplifier, "40 m", tune=[150e-12, 180e-12], load="1.2 nF")
    >>> found.plate_impedance.shape, found.attenuation.shape
    ((2,), (2, 10))
    """
    from netsim.analysis.networks import solve_at_settings

    at = None if frequency is None else value_of(frequency, "Hz")
    solved, shape = solve_at_settings(amplifier, band, value_of(tune, "F"), value_of(load, "F"), at)

    def shaped(values: NDArray[Any]) -> NDArray[Any]:
        return values.reshape((*shape, *values.shape[1:]))

    there = {name: stress for name, stress in solved.stress.items() if stress.present.any()}
    return Networks(
        frequency=shaped(solved.frequency),
        tune=shaped(solved.settings.tune),
        load=shaped(solved.settings.load),
        plate_impedance=shaped(solved.plate_impedance),
        tuned=shaped(solved.tuned),
        loaded_q=shaped(solved.loaded_q),
        efficiency=shaped(solved.efficiency),
        output=shaped(solved.output_power),
        plate_dissipation=shaped(solved.current.dissipation),
        attenuation=shaped(solved.attenuation),
        voltage_peak={name: shaped(stress.voltage_peak) for name, stress in there.items()},
        current_rms={name: shaped(stress.current_rms) for name, stress in there.items()},
        loss={name: shaped(stress.loss) for name, stress in there.items()},
    )
