"""What the user wrote: models of the amplifier file, its reader, units and their formatting."""

from netsim.description.models import (
    Amplifier,
    Antenna,
    Band,
    BandSwitch,
    Coil,
    FixedCapacitor,
    Limits,
    Network,
    OutputChoke,
    Padding,
    PlateChoke,
    Stage,
    Suppressor,
    VariableCapacitor,
)

__all__ = [
    "Amplifier",
    "Antenna",
    "Band",
    "BandSwitch",
    "Coil",
    "FixedCapacitor",
    "Limits",
    "Network",
    "OutputChoke",
    "Padding",
    "PlateChoke",
    "Stage",
    "Suppressor",
    "VariableCapacitor",
]
