"""The values of every part of a pi or pi-L network, over many networks at once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import partial
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import ComplexArray, FloatArray, Index, Termination

Topology = Literal["pi", "pi-L"]

ABSENT_SERIES_CAPACITANCE = np.inf  # a wire
ABSENT_SHUNT_INDUCTANCE = np.inf  # an ideal choke
LOSSLESS = np.inf


_infinite = partial(np.array, np.inf)
_zero = partial(np.array, 0.0)
_fifty = partial(np.array, 50.0)


@dataclass(frozen=True)
class Parts:
    """SI values of the parts; each an array that broadcasts to ``(networks,)``.

    Quality factors hold at the working frequency and are infinite where lossless. What is absent has
    the value that makes it vanish: an infinite choke or blocking capacitor, a zero padding, stray,
    suppressor, lead, self-capacitance, coupling or output coil.

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
    plate_lead, blocking_lead, tune_lead, load_lead : ndarray
        Inductance in series with the plate, and with the capacitors' own leads [H].
    coil_capacitance, output_coil_capacitance : ndarray
        Self-capacitance across each winding [F].
    coupling : ndarray
        Coefficient between coil and output coil, above -1 and below 1, positive where they aid.
    termination : Termination or None
        What hangs on the antenna terminal; None for ``antenna_resistance`` at all orders.
    """

    topology: Topology
    frequency: FloatArray
    plate_load: FloatArray
    coil: FloatArray
    tune_minimum: FloatArray
    tune_maximum: FloatArray
    load_minimum: FloatArray
    load_maximum: FloatArray
    antenna_resistance: FloatArray = field(default_factory=_fifty)
    output_capacitance: FloatArray = field(default_factory=_zero)
    plate_lead: FloatArray = field(default_factory=_zero)
    suppressor_inductance: FloatArray = field(default_factory=_zero)
    suppressor_resistance: FloatArray = field(default_factory=_infinite)
    plate_choke: FloatArray = field(default_factory=_infinite)
    plate_choke_q: FloatArray = field(default_factory=_infinite)
    plate_choke_capacitance: FloatArray = field(default_factory=_zero)
    blocking_capacitance: FloatArray = field(default_factory=_infinite)
    blocking_q: FloatArray = field(default_factory=_infinite)
    blocking_lead: FloatArray = field(default_factory=_zero)
    tune_q: FloatArray = field(default_factory=_infinite)
    tune_lead: FloatArray = field(default_factory=_zero)
    tune_stray: FloatArray = field(default_factory=_zero)
    tune_padding: FloatArray = field(default_factory=_zero)
    tune_padding_q: FloatArray = field(default_factory=_infinite)
    load_q: FloatArray = field(default_factory=_infinite)
    load_lead: FloatArray = field(default_factory=_zero)
    load_stray: FloatArray = field(default_factory=_zero)
    load_padding: FloatArray = field(default_factory=_zero)
    load_padding_q: FloatArray = field(default_factory=_infinite)
    coil_q: FloatArray = field(default_factory=_infinite)
    coil_capacitance: FloatArray = field(default_factory=_zero)
    output_coil: FloatArray = field(default_factory=_zero)
    output_coil_q: FloatArray = field(default_factory=_infinite)
    output_coil_capacitance: FloatArray = field(default_factory=_zero)
    coupling: FloatArray = field(default_factory=_zero)
    output_choke: FloatArray = field(default_factory=_infinite)
    output_choke_q: FloatArray = field(default_factory=_infinite)
    termination: Termination | None = None

    def __len__(self) -> int:
        return len(self.frequency)

    @property
    def has_plate_lead(self) -> bool:
        """Whether the lead from the plate has an inductance."""
        return bool(np.any(self.plate_lead > 0))

    @property
    def has_suppressor(self) -> bool:
        """Whether a suppressor stands in the plate lead."""
        return bool(np.any(self.suppressor_inductance > 0))

    @property
    def has_blocking_capacitor(self) -> bool:
        """Whether a capacitor keeps the plate supply off the network."""
        return bool(np.any(np.isfinite(self.blocking_capacitance)))

    def take(self, index: Index | slice) -> "Parts":
        """Choose some of the networks by index, mask or slice.

        Returns
        -------
        Parts
            Every array of shape ``(chosen,)``.
        """
        shape = (len(self),)
        count = len(np.empty(shape)[index])
        chosen: dict[str, Any] = {}
        for name in _VALUES:
            value = getattr(self, name)
            # Most values are one for all networks, and numpy's broadcasting takes ten times as long.
            chosen[name] = value[index] if value.shape == shape else np.full(count, value)
        if self.termination is not None:
            chosen["termination"] = self.termination.take(index, len(self))
        return replace(self, **chosen)

    @classmethod
    def joined(cls, several: Sequence["Parts"]) -> "Parts":
        """Put the networks of several sets of one topology in a row; all with a termination, or none."""
        whole = [parts.take(slice(None)) for parts in several]
        row: dict[str, Any] = {
            name: np.concatenate([getattr(parts, name) for parts in whole]) for name in _VALUES
        }
        ends = [parts.termination for parts in whole if parts.termination is not None]
        return replace(whole[0], **row, termination=Termination.joined(ends) if ends else None)

    def blocks(self, size: int) -> Iterator[slice]:
        """Walk over the networks in blocks of at most `size`, so that what is worked out for them fits in memory."""
        return (slice(start, start + size) for start in range(0, max(len(self), 1), size))

    @property
    def antenna_impedance(self) -> FloatArray | ComplexArray:
        """What the antenna terminal sees at the working frequency [ohm]."""
        return self.antenna_resistance if self.termination is None else self.termination.impedance[..., 0]

    def antenna_delivery(self, orders: FloatArray) -> FloatArray:
        """Give the resistance that turns the terminal's current into power in the antenna [ohm].

        Parameters
        ----------
        orders : ndarray
            Whole numbers, shape ``(orders,)``.

        Returns
        -------
        ndarray
            Shape ``(networks, orders)``.
        """
        if self.termination is not None:
            found = self.termination.delivery_at(orders)
        else:
            found = np.asarray(self.antenna_resistance)[..., np.newaxis]
        return np.broadcast_to(found, (len(self), len(orders)))

    def unknown_orders(self, orders: FloatArray) -> npt.NDArray[np.bool_]:
        """Tell at which orders nobody measured what reaches the antenna; shape as above."""
        return np.isnan(self.antenna_delivery(orders))


_VALUES = tuple(entry.name for entry in fields(Parts) if entry.name not in ("topology", "termination"))
