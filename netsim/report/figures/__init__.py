"""Figures as SVG, the same bytes every time."""
