"""The spread of real machines: worst case, and the chance that one works.

Import from here: `from shaftscore.judge.spread import Spread, find_spread`.
"""

from shaftscore.judge.spread.finding import thin_margin
from shaftscore.judge.spread.spread import (
    ENOUGH,
    MACHINES,
    Histogram,
    LaneCost,
    RuleSpread,
    Spread,
    find_spread,
)
from shaftscore.judge.spread.wilson import wilson_interval

__all__ = [
    "ENOUGH",
    "MACHINES",
    "Histogram",
    "LaneCost",
    "RuleSpread",
    "Spread",
    "find_spread",
    "thin_margin",
    "wilson_interval",
]
