"""Arrange: the tool finds the timing, and says why when there is none.

`arrange` gives an `Arrangement`, which the real solver confirmed, or a `Refusal`. In reading order:
`affine`, `drawn`, `problem` (the arranging problem as data), `lanes`, `rules`, `gates` (what is put into it),
`model`, `search` (CP-SAT), `complete`, `torque`, `local` (refining), `why`, `arrange`; beside
them `speed` and `stacking`.
"""

from shaftscore.placing.arrange import ORDERS, Arrangement, ArrangementFigures, Moved, aim_named, arrange
from shaftscore.placing.lanes import ArrangeError
from shaftscore.placing.local import Aim
from shaftscore.placing.speed import FastestSpeed, fastest_safe_speed
from shaftscore.placing.stacking import Stacking, lowest_interference
from shaftscore.placing.why import Refusal, Relaxation

__all__ = [
    "ORDERS",
    "Aim",
    "ArrangeError",
    "Arrangement",
    "ArrangementFigures",
    "FastestSpeed",
    "Moved",
    "Refusal",
    "Relaxation",
    "Stacking",
    "aim_named",
    "arrange",
    "fastest_safe_speed",
    "lowest_interference",
]
