"""In which direction the spring of a lever pulls: its rod must be clear of all else in its stack.

A spring that is square to its lever has the most effect, but there its rod may be in a disc, a wheel or
another follower. It is then slanted towards the end of the lever, in steps, by the least that clears all of
them, or else towards the pivot.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterator

from shaftscore.base.once import once
from shaftscore.layout.coupled import hub_wheels
from shaftscore.layout.drive import placed_stages
from shaftscore.layout.hub import hub_plan
from shaftscore.layout.reach import disc_reach_mm
from shaftscore.model import Project, Stack
from shaftscore.solution import Solution

STEP_DEG, MOST_DEG = 5, 60
"""Steps of the slant, and the most there is, degrees: at 60 half of the pull is left."""

RoundRoom = tuple[complex, float]
"""Middle, mm from the axis of a stack, and radius, mm, of what a rod must be clear of."""


def turning_in(solution: Solution, stack: Stack) -> tuple[RoundRoom, ...]:
    """Return what turns in a stack or in mesh with it, at any height, as circles."""
    return once(solution, ("turning in", stack), lambda: _turning_in(solution, stack))


def _turning_in(solution: Solution, stack: Stack) -> tuple[RoundRoom, ...]:
    reach = disc_reach_mm(solution, stack)
    try:
        return ((0j, reach), *_wheels(solution.project, stack))
    except ValueError:  # a finding of their own says why there are none
        return ((0j, reach),)


def _wheels(project: Project, stack: Stack) -> Iterator[RoundRoom]:
    """Yield the hub of a stack and the wheels in mesh with it. Raises ValueError where one is not made."""
    if stack.hub is None:
        return
    yield 0j, hub_plan(project, stack).reach_mm
    wheels = hub_wheels(project)
    own = wheels.get(stack.id)
    if own is None:
        return
    for other_id, other in wheels.items():
        if other.mate == stack.id or own.mate == other_id:
            yield other.at - own.at, other.wheel.tip_mm
    if stack is project.stacks[0]:
        for stage in placed_stages(project):
            yield stage.driver_at, stage.spur.pair.pinion.tip_mm
            if stage.driven_at != 0:
                yield stage.driven_at, stage.spur.pair.wheel.tip_mm


def slant_rad(pull: complex, side: int, is_clear: Callable[[complex], bool], hook: complex) -> float | None:
    """Return the least slant at which the end of a spring is clear, radians; None if it is at none.

    hook, pull: where the spring begins, and from there to its end square to its lever, mm. side: +1 where a
    turn counterclockwise slants it towards the end of its lever, else -1.
    """
    steps = list(range(0, MOST_DEG + 1, STEP_DEG))
    for slant in [*steps, *(-step for step in steps[1:])]:
        if is_clear(hook + pull * cmath.rect(1.0, math.radians(side * slant))):
            return math.radians(slant)
    return None
