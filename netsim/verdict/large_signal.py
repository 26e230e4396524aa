"""What the tube itself does in each network: currents, powers and harmonics at its steady state."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.stage import ORDERS
from netsim.circuit.tube.curve_fit import Fit
from netsim.circuit.tube.triode import Tube
from netsim.solvers import batch
from netsim.solvers.solution import Solution
from netsim.solvers.steady_state import Balance

_FINE = 2048  # samples of a period in which the conduction angle is counted


@dataclass(frozen=True)
class LargeSignal:
    """Large-signal state of every network; arrays of shape ``(networks,)`` unless said otherwise.

    Attributes
    ----------
    tube : Tube
        As balanced.
    fit : Fit or None
        Where its constants come from, if from curves.
    balance : Balance
        Waves and phasors.
    solution : Solution
        For 1 A into the plate, orders 1 to 10.
    antenna_power : ndarray
        By order [W], shape ``(networks, 10)``.
    attenuation, level : ndarray
        As of the simple stage [dB], [dBc], shape ``(networks, 10)``.
    conduction_angle : ndarray
        [rad].
    difference : ndarray or None
        Worst difference to ngspice over time, orders down to -70 dBc [dB]; NaN where it did not run.
    """

    tube: Tube
    fit: Fit | None
    balance: Balance
    solution: Solution
    antenna_power: FloatArray
    attenuation: FloatArray
    level: FloatArray
    conduction_angle: FloatArray
    difference: FloatArray | None = None

    @property
    def output_power(self) -> FloatArray:
        """Power in the antenna at the fundamental [W]."""
        return np.asarray(self.antenna_power[:, 0])

    @property
    def efficiency(self) -> FloatArray:
        """Output over the DC power of the plate supply."""
        return np.asarray(self.output_power / self.balance.input_power)

    @property
    def feed_through_power(self) -> FloatArray:
        """Power of the drive that passes into the plate circuit, none in grounded cathode [W]."""
        return self.balance.feed_through_power

    @property
    def input_resistance(self) -> FloatArray | None:
        """Of the cathode or grid to the drive, in parallel [ohm]; None where the drive's power is not known."""
        if self.balance.drive_power is None:
            return None
        with np.errstate(divide="ignore"):
            return np.asarray(self.tube.drive_voltage_peak**2 / (2 * self.balance.drive_power))


def large_signal(
    ladder: Ladder, balance: Balance, antenna_resistance: FloatArray, fit: Fit | None = None
) -> LargeSignal:
    """Draw from a balance what the verdict and the page ask.

    Parameters
    ----------
    ladder : Ladder
        As balanced.
    balance : Balance
        Of the same networks.
    antenna_resistance : ndarray
        That a current through the antenna terminal delivers its power to [ohm], broadcastable to
        ``(networks, 10)``.
    fit : Fit, optional
        Of the tube's constants.
    """
    solution = batch.solve(ladder, np.arange(1.0, ORDERS + 1))
    drive = -balance.plate_current[:, :ORDERS]
    transfer = np.abs(solution.branch_current["antenna"]) * np.sqrt(antenna_resistance)
    power = (transfer * np.abs(drive)) ** 2 / 2
    with np.errstate(divide="ignore"):
        level = 10 * np.log10(power / power[:, :1])
    return LargeSignal(
        tube=balance.tube,
        fit=fit,
        balance=balance,
        solution=solution,
        antenna_power=power,
        attenuation=20 * np.log10(transfer[:, :1] / transfer),
        level=level,
        conduction_angle=_conduction_angle(balance),
    )


def _conduction_angle(balance: Balance) -> FloatArray:
    """Angle in which the grid and the plate together are above cutoff and the plate above the cathode."""
    return np.asarray(2 * np.pi * (balance.waves(_FINE).current > 0).mean(axis=1))
