"""Arrange: the tool finds the timing, and says why when there is none.

`arrange` gives an `Arrangement`, which the real solver confirmed, or a `Refusal`. In reading order:
`changes` (what may change), `affine`, `drawn`, `problem` (the arranging problem as data), `lanes`, `rules`,
`gates` (what is put into it), `complete`, `search` (CP-SAT), `model`, `levels` (simple answers first),
`torque`, `local` (lowering it), `standing` (which machine is better), `placed`, `why`, `figures`, `first` (an
answer without a search), `arrange`; beside them `speed` and `stacking`.
"""

from shaftscore.placing.arrange import AIMS, aim_named, arrange
from shaftscore.placing.changes import MayChange
from shaftscore.placing.figures import Arrangement, ArrangementFigures, Moved
from shaftscore.placing.lanes import ArrangeError
from shaftscore.placing.local import Aim
from shaftscore.placing.speed import FastestSpeed, fastest_safe_speed
from shaftscore.placing.stacking import Stacking, lowest_interference
from shaftscore.placing.standing import Standing
from shaftscore.placing.why import Refusal, Relaxation

__all__ = [
    "AIMS",
    "Aim",
    "ArrangeError",
    "Arrangement",
    "ArrangementFigures",
    "FastestSpeed",
    "MayChange",
    "Moved",
    "Refusal",
    "Relaxation",
    "Stacking",
    "Standing",
    "aim_named",
    "arrange",
    "fastest_safe_speed",
    "lowest_interference",
]
