"""What a project means: every lane's motion, states and profile, re-solved only where it changed.

Import from here: `from shaftscore.solution import Solution, LaneSolution, solve`.
"""

from shaftscore.solution.lane import LaneSolution
from shaftscore.solution.solve import Solution, solve, work_left

__all__ = ["LaneSolution", "Solution", "solve", "work_left"]
