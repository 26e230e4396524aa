"""The values of every part of a pi or pi-L network, over many networks at once."""

from dataclasses import dataclass, field, fields, replace
from typing import Literal

import numpy as np

from .elements import FloatArray

Topology = Literal["pi", "pi-L"]

ABSENT_SERIES_CAPACITANCE = np.inf  # a wire
ABSENT_SHUNT_INDUCTANCE = np.inf  # an ideal choke
LOSSLESS = np.inf


def _value(number: float) -> FloatArray:
    """Default of a field, the same for all networks."""
    value: FloatArray = field(default_factory=lambda: np.asarray(number, dtype=np.float64))
    return value


@dataclass(frozen=True)
class Parts:
    """SI values of the parts; each an array that broadcasts to ``(networks,)``.

    Quality factors hold at the working frequency and are infinite where lossless. What is absent has
    the value that makes it vanish: an infinite choke or blocking capacitor, a zero padding, stray,
    suppressor or output coil.

    Attributes
    ----------
    topology : {"pi", "pi-L"}
        The same for all networks of one set.
    frequency : ndarray
        Working frequency [Hz], shape ``(networks,)``.
    plate_load : ndarray
        Nominal plate load [ohm].
    coil, tune_minimum, tune_maximum, load_minimum, load_maximum : ndarray
        [H] and [F].
    """

    topology: Topology
    frequency: FloatArray
    plate_load: FloatArray
    coil: FloatArray
    tune_minimum: FloatArray
    tune_maximum: FloatArray
    load_minimum: FloatArray
    load_maximum: FloatArray
    antenna_resistance: FloatArray = _value(50.0)
    output_capacitance: FloatArray = _value(0.0)
    suppressor_inductance: FloatArray = _value(0.0)
    suppressor_resistance: FloatArray = _value(np.inf)
    plate_choke: FloatArray = _value(ABSENT_SHUNT_INDUCTANCE)
    plate_choke_q: FloatArray = _value(LOSSLESS)
    plate_choke_capacitance: FloatArray = _value(0.0)
    blocking_capacitance: FloatArray = _value(ABSENT_SERIES_CAPACITANCE)
    blocking_q: FloatArray = _value(LOSSLESS)
    tune_q: FloatArray = _value(LOSSLESS)
    tune_stray: FloatArray = _value(0.0)
    tune_padding: FloatArray = _value(0.0)
    tune_padding_q: FloatArray = _value(LOSSLESS)
    load_q: FloatArray = _value(LOSSLESS)
    load_stray: FloatArray = _value(0.0)
    load_padding: FloatArray = _value(0.0)
    load_padding_q: FloatArray = _value(LOSSLESS)
    coil_q: FloatArray = _value(LOSSLESS)
    output_coil: FloatArray = _value(0.0)
    output_coil_q: FloatArray = _value(LOSSLESS)
    output_choke: FloatArray = _value(ABSENT_SHUNT_INDUCTANCE)
    output_choke_q: FloatArray = _value(LOSSLESS)

    def __len__(self) -> int:
        return len(self.frequency)

    @property
    def has_suppressor(self) -> bool:
        """Whether a suppressor stands in the plate lead."""
        return bool(np.any(self.suppressor_inductance > 0))

    @property
    def has_blocking_capacitor(self) -> bool:
        """Whether a capacitor keeps the plate supply off the network."""
        return bool(np.any(np.isfinite(self.blocking_capacitance)))

    def take(self, index: FloatArray | np.ndarray | slice) -> "Parts":
        """Choose some of the networks by index, mask or slice.

        Returns
        -------
        Parts
            Every array of shape ``(chosen,)``.
        """
        chosen = {
            entry.name: np.broadcast_to(getattr(self, entry.name), (len(self),))[index]
            for entry in fields(self)
            if entry.name != "topology"
        }
        return replace(self, **chosen)
