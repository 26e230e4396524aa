"""What is known of the box around the network: bias, drive, supply, heat, meters."""
