"""Arrange: the tool finds the timing, and says why when there is none.

`arrange` gives an `Arrangement`, which the real solver confirmed, or a `Refusal`. In reading order:
`affine`, `problem` (the arranging problem as data), `lanes`, `rules`, `gates` (what is put into it),
`model`, `search` (CP-SAT), `complete`, `torque`, `local` (refining), `why`, `arrange`; beside
them `speed` and `stacking`.
"""

from core.arrange.arrange import ORDERS, Arrangement, Figures, Moved, arrange
from core.arrange.lanes import ArrangeError
from core.arrange.local import Aim
from core.arrange.speed import FastestSpeed, fastest_safe_speed
from core.arrange.stacking import Stacking, lowest_interference
from core.arrange.why import Refusal, Relaxation

__all__ = [
    "ORDERS",
    "Aim",
    "ArrangeError",
    "Arrangement",
    "FastestSpeed",
    "Figures",
    "Moved",
    "Refusal",
    "Relaxation",
    "Stacking",
    "arrange",
    "fastest_safe_speed",
    "lowest_interference",
]
