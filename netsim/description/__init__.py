"""What the user wrote: models of the amplifier file, its reader, units and their formatting."""

from netsim.description.formatting import format_quantity
from netsim.description.models.amplifier import (
    Antenna,
    Band,
    BandSwitch,
    Description,
    Limits,
    Network,
    OutputChoke,
    PlateChoke,
    Stage,
    Suppressor,
)
from netsim.description.models.capacitors import FixedCapacitor, Padding, VariableCapacitor
from netsim.description.models.coils import Coil, WindingSection
from netsim.description.reader import Amplifier, read
from netsim.description.toml_text.positions import Position
from netsim.description.units import parse_quantity

__all__ = [
    "Amplifier",
    "Antenna",
    "Band",
    "BandSwitch",
    "Coil",
    "Description",
    "FixedCapacitor",
    "Limits",
    "Network",
    "OutputChoke",
    "Padding",
    "PlateChoke",
    "Position",
    "Stage",
    "Suppressor",
    "VariableCapacitor",
    "WindingSection",
    "format_quantity",
    "parse_quantity",
    "read",
]
