"""Results in 80 columns."""
