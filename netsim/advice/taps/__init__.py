"""Where the taps of the tank coil belong."""
