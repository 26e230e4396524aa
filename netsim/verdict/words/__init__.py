"""Message and reason of every finding, by its code."""

from netsim.verdict.words.text import Text
from netsim.verdict.words.texts import text_of, unrated_text_of

__all__ = ["Text", "text_of", "unrated_text_of"]
