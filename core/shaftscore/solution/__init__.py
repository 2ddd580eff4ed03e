"""What a project means: every lane's motion, states and profile, re-solved only where it changed.

Import from here: `from shaftscore.solution import Solution, LaneSolution, solve`.
"""

from shaftscore.solution.lane import LaneSolution, waiting_lane
from shaftscore.solution.solve import Solution, changed_lanes, solve, work_left

__all__ = ["LaneSolution", "Solution", "changed_lanes", "solve", "waiting_lane", "work_left"]
