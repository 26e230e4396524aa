"""From the description to numbers: the one place in this layer that reads what the user wrote."""

from netsim.circuit.assembly.assembly import (
    Assembly,
    assemble,
    heat_path,
    measured_orders,
    suppressor_inductance,
)
from netsim.circuit.assembly.plate_load_limits import inputs_of
from netsim.circuit.assembly.variants import Variants

__all__ = [
    "Assembly",
    "Variants",
    "assemble",
    "heat_path",
    "inputs_of",
    "measured_orders",
    "suppressor_inductance",
]
