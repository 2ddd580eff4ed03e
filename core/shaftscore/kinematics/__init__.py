"""From dwells to discs: motions, followers, and the profiles that move them."""
