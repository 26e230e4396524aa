"""What coils and capacitors hold at one instant of a balanced period, to start a run over time from."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import Capacitor, DampedInductor, FloatArray, Inductor
from netsim.circuit.ladder import Ladder
from netsim.solvers import batch
from netsim.solvers.steady_state import Balance


@dataclass(frozen=True)
class StartState:
    """State of one network at the drive's crest.

    Attributes
    ----------
    values : mapping of str to float
        By branch: voltage across a capacitor without its resistance [V], current through a coil towards
        the antenna or to ground [A], DC included.
    plate_current_dc : float
        [A].
    """

    values: Mapping[str, float]
    plate_current_dc: float

    def of(self, branch: str) -> float:
        """Give a branch's state; zero for what holds none."""
        return self.values.get(branch, 0.0)


def state_at_crest(ladder: Ladder, balance: Balance, row: int) -> StartState:
    """Draw the state of one network out of its balance.

    Parameters
    ----------
    ladder : Ladder
        Of all networks, as balanced.
    balance : Balance
        Of the same networks.
    row : int
        Which network.
    """
    single = ladder.single(row)
    drive = -balance.plate_current[row]
    orders = np.arange(1.0, len(drive) + 1)
    solution = batch.solve(single, orders)
    omega = 2 * np.pi * single.frequency[0] * orders
    direct = float(balance.plate_current_dc[row])
    values = {}
    for branch in single.branches:
        current = solution.branch_current[branch.name][0] * drive
        far = 0 if branch.to is None else solution.node_voltage[branch.to][0]
        voltage = (solution.node_voltage[branch.node][0] - far) * drive
        match branch.element:
            case Capacitor(capacitance=capacitance):
                values[branch.name] = _now(current / (1j * omega * capacitance[0]))
            case DampedInductor(inductance=inductance):
                values[branch.name] = _now(voltage / (1j * omega * inductance[0])) - direct
            case Inductor() if branch.name == "plate_choke":
                values[branch.name] = _choke(branch.element, voltage, omega) - direct
            case Inductor() if branch.name == "plate_lead":
                values[branch.name] = _now(current) - direct
            case Inductor():
                values[branch.name] = _now(current)
    return StartState(values, direct)


def _choke(choke: Inductor, voltage: FloatArray, omega: FloatArray) -> float:
    """Give the current in the choke's inductance, its loss standing across it as at the fundamental."""
    reactance = omega[0] * choke.inductance[0]
    inductance = choke.inductance[0] * (1 + (choke.resistance[0] / reactance) ** 2)
    return _now(voltage / (1j * omega * inductance))


def _now(phasors: FloatArray) -> float:
    return float(np.real(phasors).sum())
