"""The spread of real machines: worst case, and the chance that one works.

Import from here: `from shaftscore.judge.spread import Spread, find_spread`.
"""

from shaftscore.judge.spread.causes import NO_EFFECTS, BuiltEffects, Cause
from shaftscore.judge.spread.costs import CauseCost, LaneCost
from shaftscore.judge.spread.drawing import MACHINES, draw_machines
from shaftscore.judge.spread.finding import SPREAD_RULES, thin_margin
from shaftscore.judge.spread.histogram import Histogram
from shaftscore.judge.spread.spread import RuleSpread, Spread, find_spread
from shaftscore.judge.spread.wilson import wilson_interval

__all__ = [
    "MACHINES",
    "NO_EFFECTS",
    "SPREAD_RULES",
    "BuiltEffects",
    "Cause",
    "CauseCost",
    "Histogram",
    "LaneCost",
    "RuleSpread",
    "Spread",
    "draw_machines",
    "find_spread",
    "thin_margin",
    "wilson_interval",
]
