"""Renderings of a result: page, terminal, and files for other programs."""
