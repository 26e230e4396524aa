"""Message and reason of every finding, by its code."""

from netsim.verdict.words.texts import text_of, unrated_text_of

__all__ = ["text_of", "unrated_text_of"]
