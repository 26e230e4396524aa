"""Readings turned into what is known of an amplifier after them, or into what is wrong with it."""
