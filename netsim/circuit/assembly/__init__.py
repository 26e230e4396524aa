"""From the description to numbers: the one place in this layer that reads what the user wrote."""

from netsim.circuit.assembly.assembly import Assembly, assemble, suppressor_inductance
from netsim.circuit.assembly.variants import Variants

__all__ = ["Assembly", "Variants", "assemble", "suppressor_inductance"]
