"""What a project means: every lane's motion, states and profile, re-solved only where it changed.

Import from here: `from core.solution import Solution, LaneSolution, solve`.
"""

from core.solution.lane import LaneSolution
from core.solution.solve import Solution, solve

__all__ = ["LaneSolution", "Solution", "solve"]
