"""The smallest change that clears what is over."""
