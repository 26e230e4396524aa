"""Coils as they are wound: inductance, loss, taps, shorted and open turns."""
