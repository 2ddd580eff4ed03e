"""Where everything in the timing diagram stands, as plain numbers: no Qt, nothing painted.

Sizes are px of the screen. A size of the design is at 100 % and is multiplied by `u`. Angles are
degrees of the master shaft unless a name says "own" (of the lane's own stack). An *unwrapped* angle is
counted on past 360, so that it says which copy of the turn is meant.
"""
