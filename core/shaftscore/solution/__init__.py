"""What a project means: every lane's motion, states and profile, re-solved only where it changed.

Import from here: `from shaftscore.solution import Solution, LaneSolution, solve`. `incremental` is the one
way of reuse, here and in all that judges.
"""

from shaftscore.solution.incremental import FULL, QUICK, ExaminationStage, Incremental
from shaftscore.solution.lane import LaneSolution, waiting_lane
from shaftscore.solution.solve import Solution, changed_lanes, solve, work_left

__all__ = [
    "FULL",
    "QUICK",
    "ExaminationStage",
    "Incremental",
    "LaneSolution",
    "Solution",
    "changed_lanes",
    "solve",
    "waiting_lane",
    "work_left",
]
