"""What is known of an amplifier within limits, sampled over whole amplifiers."""
