"""The elements a ladder is made of, as plain values over many networks.

Every field is an array that broadcasts to ``(networks,)``. A solver may share these values with
another solver and nothing else: each works out impedances by its own means.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IndexArray = npt.NDArray[np.intp]
Index = npt.NDArray[np.bool_] | IndexArray


@dataclass(frozen=True)
class Capacitor:
    """A capacitor with a series resistance that is the same at every order.

    Attributes
    ----------
    capacitance : ndarray
        [F]; zero stands for an open circuit.
    resistance : ndarray
        In series [ohm].
    """

    capacitance: FloatArray
    resistance: FloatArray

    @classmethod
    def of_quality(cls, capacitance: FloatArray, quality: FloatArray, frequency: FloatArray) -> "Capacitor":
        """Derive the series resistance ``1 / (2 pi f C q)`` from a Q at the working frequency [Hz]."""
        susceptance = 2 * np.pi * frequency * capacitance
        absent = susceptance == 0
        resistance = np.where(absent, 0.0, 1 / (np.where(absent, 1.0, susceptance) * quality))
        return cls(*np.broadcast_arrays(capacitance, resistance))


@dataclass(frozen=True)
class Inductor:
    """An inductor whose series resistance grows with the square root of the order (skin effect).

    Attributes
    ----------
    inductance : ndarray
        [H]; infinite stands for an open circuit.
    resistance : ndarray
        In series at the working frequency [ohm].
    """

    inductance: FloatArray
    resistance: FloatArray

    @classmethod
    def of_quality(cls, inductance: FloatArray, quality: FloatArray, frequency: FloatArray) -> "Inductor":
        """Derive the series resistance ``2 pi f L / q`` from a Q at the working frequency [Hz]."""
        reactance = 2 * np.pi * frequency * inductance
        resistance = np.where(np.isinf(quality), 0.0, reactance / np.where(np.isinf(quality), 1.0, quality))
        return cls(*np.broadcast_arrays(inductance, resistance))

    def resistance_at(self, order: FloatArray) -> FloatArray:
        """Give the series resistance [ohm] at multiples of the working frequency.

        Parameters
        ----------
        order : ndarray
            Shape ``(orders,)``; need not be whole numbers.

        Returns
        -------
        ndarray
            Shape ``(networks, orders)``.
        """
        return np.asarray(self.resistance)[..., np.newaxis] * np.sqrt(order)


@dataclass(frozen=True)
class DampedInductor:
    """An ideal inductor with a resistor across it, as in a parasitic suppressor.

    Attributes
    ----------
    inductance : ndarray
        [H].
    resistance : ndarray
        Of the resistor in parallel [ohm], the same at every order.
    """

    inductance: FloatArray
    resistance: FloatArray


@dataclass(frozen=True)
class Resistor:
    """A resistance that is the same at every order.

    Attributes
    ----------
    resistance : ndarray
        [ohm]; infinite stands for an open circuit.
    """

    resistance: FloatArray


@dataclass(frozen=True)
class Termination:
    """Whatever hangs on the antenna terminal, known at whole multiples of the working frequency.

    Attributes
    ----------
    impedance : ndarray
        Complex, at orders 1 to m [ohm], shape ``(networks, m)``.
    beyond : ndarray
        Resistance at all higher orders [ohm].
    delivered : ndarray or None
        Resistance [ohm] that turns half the square of the peak current into power in the antenna, where a
        filter keeps some of it; None for the real part of the impedance. Shape as the impedance's. NaN at orders
        of which nothing was measured: the impedance there is a stand-in.
    """

    impedance: ComplexArray
    beyond: FloatArray
    delivered: FloatArray | None = None

    def impedance_at(self, orders: FloatArray) -> ComplexArray:
        """Look the impedance [ohm] up, shape ``(networks, orders)``.

        Raises
        ------
        ValueError
            If an order is not a whole number above zero: nothing is known between the orders.
        """
        return self._look_up(self.impedance, orders)

    def delivery_at(self, orders: FloatArray) -> FloatArray:
        """Give the resistance that delivers power to the antenna [ohm]; shape and error as above."""
        listed = self.impedance.real if self.delivered is None else self.delivered
        return self._look_up(np.asarray(listed, dtype=np.complex128), orders).real

    @property
    def unknown(self) -> "npt.NDArray[np.bool_]":
        """Orders of which nothing was measured, shape as the impedance's."""
        if self.delivered is None:
            return np.zeros(self.impedance.shape, dtype=np.bool_)
        return np.isnan(self.delivered)

    def hiding(self, unknown: "npt.NDArray[np.bool_]") -> "Termination":
        """Mark orders as not measured, shape as the impedance's: what they deliver to the antenna is unknown."""
        listed = self.impedance.real if self.delivered is None else self.delivered
        return Termination(self.impedance, self.beyond, np.where(unknown, np.nan, listed))

    def take(self, index: Index | slice, networks: int) -> "Termination":
        """Choose some of `networks` by index, mask or slice."""
        known = (networks, self.impedance.shape[-1])
        return Termination(
            np.broadcast_to(self.impedance, known)[index],
            np.broadcast_to(self.beyond, (networks,))[index],
            None if self.delivered is None else np.broadcast_to(self.delivered, known)[index],
        )

    @classmethod
    def joined(cls, several: Sequence["Termination"]) -> "Termination":
        """Put the terminations of several sets of networks in a row; all known at as many orders."""
        delivered = [one.impedance.real if one.delivered is None else one.delivered for one in several]
        return cls(
            np.concatenate([one.impedance for one in several]),
            np.concatenate([one.beyond for one in several]),
            None if all(one.delivered is None for one in several) else np.concatenate(delivered),
        )

    def _look_up(self, values: ComplexArray, orders: FloatArray) -> ComplexArray:
        number = np.rint(orders).astype(np.intp)
        if not np.array_equal(number, orders) or number.min() < 1:
            raise ValueError(f"a termination is known at whole orders only; asked for {orders}")
        known = values.shape[-1]
        listed = values[..., np.minimum(number, known) - 1]
        return np.where(number <= known, listed, np.asarray(self.beyond)[..., np.newaxis] + 0j)


Element = Capacitor | Inductor | DampedInductor | Resistor | Termination


@dataclass(frozen=True)
class Branch:
    """One element and where it stands in the ladder.

    Attributes
    ----------
    name : str
        Unique in its ladder; lower case letters, digits and underscores.
    element : Element
        What stands there.
    node : str
        The node it hangs on, or the one nearer the plate if it is in series.
    to : str or None
        The node nearer the antenna if it is in series; None for a shunt branch to ground.
    """

    name: str
    element: Element
    node: str
    to: str | None = None


@dataclass(frozen=True)
class Coupling:
    """Mutual inductance between two inductors that stand in series, one right behind the other.

    Attributes
    ----------
    one, other : str
        Names of their branches, in order from the plate.
    coefficient : ndarray
        Above -1 and below 1; positive where the same current through both gives more flux than through each
        alone (windings aiding).
    """

    one: str
    other: str
    coefficient: FloatArray
