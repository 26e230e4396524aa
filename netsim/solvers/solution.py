"""What every solver returns."""

from collections.abc import Mapping
from dataclasses import dataclass

from netsim.circuit.elements import ComplexArray, FloatArray


@dataclass(frozen=True)
class Solution:
    """Voltages and currents for 1 A of peak current sent into the plate node, at several orders.

    Attributes
    ----------
    orders : ndarray
        Multiples of each network's working frequency, shape ``(orders,)``.
    node_voltage : mapping of str to ndarray
        Complex peak voltage to ground [V], shape ``(networks, orders)``.
    branch_current : mapping of str to ndarray
        Complex peak current [A] towards the antenna or, in shunt branches, to ground; same shape. Open
        branches carry zero.
    """

    orders: FloatArray
    node_voltage: Mapping[str, ComplexArray]
    branch_current: Mapping[str, ComplexArray]

    @property
    def plate_impedance(self) -> ComplexArray:
        """Impedance seen by the plate [ohm], shape ``(networks, orders)``."""
        return self.node_voltage["plate"]
