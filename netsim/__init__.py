"""Output networks of valve HF power amplifiers: solved twice, every part held against its rating."""

__version__ = "0.1.0"
