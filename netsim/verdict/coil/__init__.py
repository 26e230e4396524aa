"""Wound coils: what was supposed of them, their heat, their shorted and open turns."""
