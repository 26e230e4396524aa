"""The box around the network on the page."""
