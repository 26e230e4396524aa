"""The output stage: plate-current pulse, plate load and dissipation."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import FloatArray

ORDERS = 10
"""How many multiples of the working frequency are solved, the fundamental included."""


def pulse_spectrum(conduction_angle: FloatArray | float, orders: int = ORDERS) -> FloatArray:
    r"""Give the harmonic content of a clipped cosine, relative to its mean.

    Parameters
    ----------
    conduction_angle : array_like
        Total angle over which current flows [rad], above 0 to 2 pi; shape ``(...,)``.
    orders : int
        How many orders.

    Returns
    -------
    ndarray
        Signed ``I_n / I_dc`` for n = 1 to `orders`, shape ``(..., orders)``; I_n is a peak value.

    Notes
    -----
    With t half the conduction angle, the pulse is ``(cos x - cos t) / (1 - cos t)`` for ``|x| < t`` and
    zero elsewhere. Its Fourier coefficients, all times ``pi (1 - cos t)``, are

    * mean: ``sin t - t cos t``,
    * n = 1: ``t - sin t cos t``,
    * n > 1: ``2 (sin nt cos t - n cos nt sin t) / (n (n^2 - 1))``.

    Derived by integration. A real tube departs from the clipped cosine, by a dB or two at low orders.
    """
    half = np.asarray(conduction_angle, dtype=np.float64)[..., np.newaxis] / 2
    sine, cosine = np.sin(half), np.cos(half)
    mean = sine - half * cosine
    first = (half - sine * cosine) / mean
    n = np.arange(2, orders + 1)
    others = 2 * (np.sin(n * half) * cosine - n * np.cos(n * half) * sine) / (n * (n**2 - 1)) / mean
    return np.concatenate([first, others], axis=-1)


@dataclass(frozen=True)
class Stage:
    """What the tube and its supply ask of the network.

    Attributes
    ----------
    plate_voltage : float
        DC under load [V].
    supply_voltage : float
        Highest DC that stands on the plate: without load if known, else under load [V].
    direct_current : float
        Plate current at full single-tone output [A].
    drive_voltage_peak : float
        Drive in series with the plate circuit (grounded grid), else 0 [V].
    plate_load : float
        Nominal [ohm].
    spectrum : ndarray
        Signed ``I_n / I_dc``, shape ``(10,)``.
    """

    plate_voltage: float
    supply_voltage: float
    direct_current: float
    drive_voltage_peak: float
    plate_load: float
    spectrum: FloatArray

    @property
    def current_peak(self) -> FloatArray:
        """Signed peak plate current of each order [A], shape ``(10,)``."""
        return self.direct_current * self.spectrum

    @property
    def fundamental_current_peak(self) -> float:
        """Peak fundamental plate current [A]."""
        return float(self.current_peak[0])

    @property
    def plate_power(self) -> float:
        """Nominal power into the plate load, ``I_1^2 R_L / 2`` [W]."""
        return self.fundamental_current_peak**2 * self.plate_load / 2

    @property
    def input_power(self) -> float:
        """DC power from the plate supply [W]."""
        return self.plate_voltage * self.direct_current

    def dissipation(self, plate_power: FloatArray, scale: FloatArray) -> FloatArray:
        """Give the plate dissipation ``s V I_dc + s I_1 E / 2 - plate power`` [W].

        Parameters
        ----------
        plate_power : ndarray
            Fundamental power delivered to the network, with `scale` already in it [W].
        scale : ndarray
            The voltage limit's factor s on every current.

        Notes
        -----
        The middle term is the drive that grounded grid feeds through. Energy balance of the stage.
        """
        drive = self.fundamental_current_peak * self.drive_voltage_peak / 2
        return scale * (self.input_power + drive) - plate_power


def largest_plate_load(plate_voltage: float, drive_voltage_peak: float, current_peak: float) -> float:
    """Give the plate load at which the plate swings down to zero, ``(V + E) / I_1`` [ohm]."""
    return (plate_voltage + drive_voltage_peak) / current_peak


def plate_load(
    plate_voltage: float, minimum_plate_voltage: float, drive_voltage_peak: float, current_peak: float
) -> float:
    """Give the plate load ``(V - V_min + E) / I_1`` [ohm].

    V and V_min [V] are plate to cathode, E [V] is the drive in series (grounded grid), I_1 the peak
    fundamental plate current [A]. The plate swing divided by the current that makes it.
    """
    return (plate_voltage - minimum_plate_voltage + drive_voltage_peak) / current_peak
