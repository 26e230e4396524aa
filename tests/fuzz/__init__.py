"""Cases made by a seed, what they have to keep, and a command that runs many."""
