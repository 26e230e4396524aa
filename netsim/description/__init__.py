"""What the user wrote: models of the amplifier file, its reader, units and their formatting."""
