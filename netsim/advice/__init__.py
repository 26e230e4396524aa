"""What to do about it: comparisons, designs, coverage, and changes that are solved before they are proposed."""
