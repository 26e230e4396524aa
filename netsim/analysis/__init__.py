"""From an amplifier to its result, and to the curves that a page draws."""

from netsim.analysis.analysis import Analysis, analyse
from netsim.analysis.frequency_response import Response, response
from netsim.analysis.networks import Engine
from netsim.analysis.uncertainty.draws import SAMPLES

__all__ = ["SAMPLES", "Analysis", "Engine", "Response", "analyse", "response"]
