"""What to measure on the bench, what to expect there, and how what was read agrees with it."""
