"""What to do about the box around the network."""
