"""The output stage: plate-current pulse, plate load and dissipation."""

from dataclasses import dataclass, fields
from functools import cache
from typing import Literal

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray, Index

ORDERS = 10
"""How many multiples of the working frequency are solved, the fundamental included."""


Pulse = Literal["cosine", "three-halves"]
"""Shape of the plate current: a clipped cosine, or its power of 3/2 as space charge makes it."""

_NODES = 96
"""Of the quadrature of the 3/2 pulse; twice as many change no order by 1e-12."""


def pulse_spectrum(
    conduction_angle: FloatArray | float, orders: int = ORDERS, pulse: Pulse = "cosine"
) -> FloatArray:
    r"""Return the harmonic content of a plate-current pulse, relative to its mean.

    Parameters
    ----------
    conduction_angle : array_like
        Total angle over which current flows [rad], above 0 to 2 pi; shape ``(...,)``.
    orders : int
        How many orders.
    pulse : {"cosine", "three-halves"}
        Shape.

    Returns
    -------
    ndarray
        Signed ``I_n / I_dc`` for n = 1 to `orders`, shape ``(..., orders)``; I_n is a peak value.

    Notes
    -----
    With t half the conduction angle, the clipped cosine is ``(cos x - cos t) / (1 - cos t)`` for ``|x| < t``
    and zero elsewhere. Its Fourier coefficients, all times ``pi (1 - cos t)``, are

    * mean: ``sin t - t cos t``,
    * n = 1: ``t - sin t cos t``,
    * n > 1: ``2 (sin nt cos t - n cos nt sin t) / (n (n^2 - 1))``.

    Derived by integration. The other pulse is that to the power of 3/2, the current of a tube whose plate
    swings little against its amplification factor (Child and Langmuir's law); its coefficients are
    integrated numerically. Real tubes lie between the two and beyond, by a decibel or two at low orders:
    the 3rd order of a clipped cosine is zero at 180 degrees, that of the other 19 dB below the first.
    """
    half = np.asarray(conduction_angle, dtype=np.float64)[..., np.newaxis] / 2
    if pulse == "three-halves":
        return _three_halves(half, orders)
    sine, cosine = np.sin(half), np.cos(half)
    mean = sine - half * cosine
    first = (half - sine * cosine) / mean
    n = np.arange(2, orders + 1)
    others = 2 * (np.sin(n * half) * cosine - n * np.cos(n * half) * sine) / (n * (n**2 - 1)) / mean
    return np.concatenate([first, others], axis=-1)


@cache
def _quadrature() -> tuple[FloatArray, FloatArray]:
    """Nodes and weights of Gauss and Legendre: an eigenvalue problem, and a search assembles hundreds of stages."""
    return np.polynomial.legendre.leggauss(_NODES)


def _three_halves(half: FloatArray, orders: int) -> FloatArray:
    """Integrate ``(cos x - cos t)^1.5 cos nx`` with ``x = t sin u``, which leaves a smooth integrand."""
    node, weight = _quadrature()
    u = (node + 1) * np.pi / 4
    x = half * np.sin(u)
    # The product keeps its digits where both cosines are nearly the same.
    lift = 2 * np.sin((half + x) / 2) * np.sin(half * np.sin((np.pi / 2 - u) / 2) ** 2)
    area = np.maximum(lift, 0.0) ** 1.5 * np.cos(u) * weight
    content = np.stack([(area * np.cos(n * x)).sum(axis=-1) for n in range(orders + 1)], axis=-1)
    return np.asarray(2 * content[..., 1:] / content[..., :1])


@dataclass(frozen=True)
class PlateCurrent:
    """What flows from the plate into the tube; arrays over ``networks``.

    Attributes
    ----------
    direct : ndarray
        Mean [A], shape ``(networks,)``.
    phasors : ndarray
        Complex peak values of orders 1 to 10 [A], shape ``(networks, 10)``.
    dissipation : ndarray
        Heat of the plate [W], shape ``(networks,)``.
    """

    direct: FloatArray
    phasors: ComplexArray
    dissipation: FloatArray

    @property
    def drive(self) -> ComplexArray:
        """What is sent into the network [A peak]: the plate current flows out of it."""
        return np.asarray(-self.phasors)


@dataclass(frozen=True)
class OperatingConditions:
    """What the tube and its supply ask of the network; every array of shape ``(networks,)``.

    Attributes
    ----------
    plate_voltage : ndarray
        DC under load [V].
    supply_voltage : ndarray
        Highest DC that stands on the plate: without load if known, else under load [V].
    direct_current : ndarray
        Plate current at full single-tone output [A].
    drive_voltage_peak : ndarray
        Drive in series with the plate circuit (grounded grid), else 0 [V].
    plate_load : ndarray
        Nominal [ohm].
    spectrum : ndarray
        Signed ``I_n / I_dc``, shape ``(networks, 10)``.
    duty : ndarray
        Mean over peak power, for heat alone.
    dissipation_rating : ndarray
        [W]; NaN where the file gives none.
    conduction_angle : ndarray
        [rad].
    """

    plate_voltage: FloatArray
    supply_voltage: FloatArray
    direct_current: FloatArray
    drive_voltage_peak: FloatArray
    plate_load: FloatArray
    spectrum: FloatArray
    duty: FloatArray
    dissipation_rating: FloatArray
    conduction_angle: FloatArray

    def take(self, index: Index) -> "OperatingConditions":
        """Choose some of the networks by index, repeated or not."""
        return OperatingConditions(**{entry.name: getattr(self, entry.name)[index] for entry in fields(self)})

    @property
    def current_peak(self) -> FloatArray:
        """Signed peak plate current of each order [A], shape ``(networks, 10)``."""
        return self.direct_current[:, np.newaxis] * self.spectrum

    @property
    def fundamental_current_peak(self) -> FloatArray:
        """Peak fundamental plate current [A]."""
        return self.current_peak[:, 0]

    @property
    def plate_power(self) -> FloatArray:
        """Nominal power into the plate load, ``I_1^2 R_L / 2`` [W]."""
        return self.fundamental_current_peak**2 * self.plate_load / 2

    @property
    def input_power(self) -> FloatArray:
        """DC power from the plate supply [W]."""
        return self.plate_voltage * self.direct_current

    @property
    def feed_through_power(self) -> FloatArray:
        """Nominal power ``I_1 E / 2`` of the drive that grounded grid passes through the tube [W]."""
        return self.fundamental_current_peak * self.drive_voltage_peak / 2

    def plate_current(self, impedance: ComplexArray) -> PlateCurrent:
        """Compute what the pulse sends through a plate impedance.

        Parameters
        ----------
        impedance : ndarray
            Of the plate at the working frequency [ohm], shape ``(networks,)``.

        Returns
        -------
        PlateCurrent
            All orders and the mean times ``s = min(1, R_L / |Z_P|)``: the plate can swing no further. The
            heat is ``s (V I_dc + I_1 E / 2)`` less the power into the network; the second term is the drive
            that grounded grid feeds through. Energy balance of the stage.
        """
        scale = voltage_limit(self.plate_load, impedance)
        fundamental = scale * self.fundamental_current_peak
        into_network = fundamental**2 * impedance.real / 2
        return PlateCurrent(
            scale * self.direct_current,
            (scale[:, np.newaxis] * self.current_peak).astype(np.complex128),
            scale * (self.input_power + self.feed_through_power) - into_network,
        )


def voltage_limit(plate_load: FloatArray, impedance: ComplexArray) -> FloatArray:
    """Return the factor ``s = min(1, R_L / |Z_P|)`` on all plate currents: the plate can swing no further."""
    return np.asarray(np.minimum(1.0, plate_load / np.abs(impedance)))


def largest_plate_load(
    plate_voltage: FloatArray, drive_voltage_peak: FloatArray, current_peak: FloatArray
) -> FloatArray:
    """Return the plate load at which the plate swings down to zero, ``(V + E) / I_1`` [ohm]."""
    return (plate_voltage + drive_voltage_peak) / current_peak


def plate_load(
    plate_voltage: FloatArray,
    minimum_plate_voltage: FloatArray,
    drive_voltage_peak: FloatArray,
    current_peak: FloatArray,
) -> FloatArray:
    """Return the plate load ``(V - V_min + E) / I_1`` [ohm].

    V and V_min [V] are plate to cathode, E [V] is the drive in series (grounded grid), I_1 the peak
    fundamental plate current [A]. The plate swing divided by the current that makes it.
    """
    return (plate_voltage - minimum_plate_voltage + drive_voltage_peak) / current_peak
