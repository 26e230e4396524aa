"""Figures of the box around the network: supply, heat path, drive and first power-up."""
