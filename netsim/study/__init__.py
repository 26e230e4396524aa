"""The one walk from a description to its result, and to the curves that a page draws."""

from netsim.study.outcome import Study, study
from netsim.study.sweep import Response, response
from netsim.study.walk import Engine, Walk

__all__ = ["Engine", "Response", "Study", "Walk", "response", "study"]
