"""What the tube itself does in each network: its steady state, and the plate current that follows."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.stage import ORDERS, PlateCurrent
from netsim.circuit.tube.curve_fit import Fit
from netsim.circuit.tube.triode import TubeConstants
from netsim.solvers.steady_state import Balance

_FINE = 2048  # samples of a period in which the conduction angle is counted


@dataclass(frozen=True)
class TubeState:
    """Steady state of every network with its tube; arrays of shape ``(networks,)``.

    Attributes
    ----------
    fit : Fit or None
        Where the tube's constants come from, if from curves.
    balance : Balance
        Waves and phasors.
    difference : ndarray or None
        Worst difference to ngspice over time, orders down to -70 dBc [dB]; NaN where it did not run.
    """

    fit: Fit | None
    balance: Balance
    difference: FloatArray | None = None

    @property
    def tube(self) -> TubeConstants:
        """As balanced."""
        return self.balance.tube

    @cached_property
    def conduction_angle(self) -> FloatArray:
        """Angle in which grid and plate together are above cutoff and the plate above the cathode [rad]."""
        return np.asarray(2 * np.pi * (self.balance.waves(_FINE).current > 0).mean(axis=1))

    @property
    def input_resistance(self) -> FloatArray | None:
        """Of the cathode or grid to the drive, in parallel [ohm]; None where the drive's power is not known."""
        if self.balance.drive_power is None:
            return None
        with np.errstate(divide="ignore"):
            return np.asarray(self.tube.drive_voltage_peak**2 / (2 * self.balance.drive_power))


def drawn_by(balance: Balance) -> PlateCurrent:
    """Return what flows from the plates of a balance; NaN in networks without a steady state."""
    return PlateCurrent(
        balance.plate_current_dc, balance.plate_current[:, :ORDERS], balance.plate_dissipation
    )
