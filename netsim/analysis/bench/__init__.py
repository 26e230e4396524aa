"""What instruments on the bench show of an amplifier, calculated: cold matches, outputs, coils, capacitors."""
