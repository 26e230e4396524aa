"""Output networks of valve HF power amplifiers: solved twice, every part held against its rating."""

from netsim.public_names import __dir__, __getattr__

__all__ = ["__dir__", "__getattr__", "__version__"]
__version__ = "0.1.0"
