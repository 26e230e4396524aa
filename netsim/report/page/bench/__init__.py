"""The page on the bench: the card to take there, what was read, the fit, and where the power goes."""
