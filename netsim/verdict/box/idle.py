"""Where the tube idles: plate voltage, current and heat without drive, one figure for whoever tells them."""

from dataclasses import dataclass

from netsim.circuit.tube.operating_state import idle_current
from netsim.verdict.box.state import SupplyState
from netsim.verdict.solved import Solved


@dataclass(frozen=True)
class IdlePoint:
    """The stage as it stands without drive: volts at the plate, amperes of all tubes."""

    voltage: float
    current: float

    @property
    def dissipation(self) -> float:
        """Heat of the plate [W]."""
        return self.voltage * self.current


def idle_point(solved: Solved, supply: SupplyState | None = None) -> IdlePoint | None:
    """Return where the tube idles at its bias; None without a tube.

    Parameters
    ----------
    solved : Solved
        With its tube settled.
    supply : SupplyState, optional
        As solved, where the box does not hold it yet.

    Notes
    -----
    Without drive a supply gives more than under load. Where it is described, the point is that at which it and the
    tube agree; else the voltage is `no_load_plate_voltage`, and `plate_voltage` where that is not given either.
    """
    if solved.tube_state is None:
        return None
    if supply is None and solved.box is not None:
        supply = solved.box.supply
    if supply is not None and supply.idle_voltage is not None and supply.idle_current is not None:
        return IdlePoint(supply.idle_voltage, supply.idle_current)
    voltage = solved.description.stage.highest_plate_voltage
    return IdlePoint(voltage, float(idle_current(solved.tube_state.tube.single(0), voltage)[0]))
