"""From an amplifier to its result, and to the curves that a page draws."""

from netsim.analysis.analysis import Result, analyse
from netsim.analysis.frequency_response import Response, response
from netsim.analysis.networks import Engine
from netsim.analysis.uncertainty.draws import SAMPLES

__all__ = ["SAMPLES", "Engine", "Response", "Result", "analyse", "response"]
