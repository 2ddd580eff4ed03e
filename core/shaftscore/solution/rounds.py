"""Solved lanes seen over a common round, so that what is between them can be judged on one circle."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from fractions import Fraction
from types import MappingProxyType

from shaftscore.kinematics.course import course_of
from shaftscore.model import Rule
from shaftscore.model.base import replaced
from shaftscore.model.rounds import CYCLE, seen_over
from shaftscore.solution.solve import Solution

MOST_PLACES = 20_000
"""Intervals of states that a lane may have in a round; with more of them it is not looked at."""


def is_short(solution: Solution, lanes: Iterable[str], cycles: Fraction) -> bool:
    """Return whether some lanes, by their ids, have few enough intervals in a round to be looked at."""
    return all(_places(solution, lane_id, cycles) <= MOST_PLACES for lane_id in lanes)


def _places(solution: Solution, lane_id: str, cycles: Fraction) -> int:
    solved = solution.lanes.get(lane_id)
    if solved is None:
        return 0
    own = sum(map(len, solved.own_states.values()))
    return int(own * solution.project.rates[solved.stack] * cycles)


def over_round(
    solution: Solution, cycles: Fraction, lanes: Collection[str], rules: Iterable[Rule] | None = None
) -> Solution:
    """Return a solution over a round of so many cycles, with some of its lanes and of its rules.

    lanes: ids; their stacks turn a whole number of times in the round. rules: of the project; all if None.
    The very same solution where nothing is left out and the round is a cycle, as that of all its lanes is.
    """
    project = solution.project
    chosen = project.rules if rules is None else tuple(rules)
    whole = chosen == project.rules and set(lanes) >= set(solution.lanes)
    if whole and cycles == CYCLE and all(one.course.cycles == CYCLE for one in solution.lanes.values()):
        return solution
    part = project if chosen == project.rules else replaced(project, rules=chosen)
    seen = seen_over(part, cycles)
    courses = {stack.id: stack for stack in seen.stacks}
    found = {
        lane_id: solved.on_round(course_of(seen, courses[solved.stack], CYCLE), seen.shaft.speed_rpm)
        for lane_id, solved in solution.lanes.items()
        if lane_id in lanes
    }
    return Solution(seen, MappingProxyType(found))
