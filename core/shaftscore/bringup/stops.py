"""A stop of the machine: its step, where each lane is expected, and which lanes rest there.

The stops of a machine are `check_angles`, angles of the test cards. A lane that moves at a stop is not looked
at there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shaftscore.bringup.angles import dwells, step_at
from shaftscore.kinematics.course import LaneCycle
from shaftscore.model import Project
from shaftscore.solution import LaneSolution


@dataclass(frozen=True)
class ExpectedLevel:
    """Where a lane is expected: its level (empty: none), its output, mm, the level's rank from the lowest.

    share: of the output between the lowest and the highest, 0 to 1. changed: since the row above.
    """

    level: str
    output_mm: float
    rank: int
    share: float
    changed: bool = False


@dataclass(frozen=True)
class BenchStop:
    """A stop: its master angle, degrees, and the step that it is in: its number, from 1, and its name."""

    angle_deg: float
    step: int
    step_name: str


def bench_stop(project: Project, angle_deg: float) -> BenchStop:
    """Return the stop at a master angle, degrees; an angle before the first step is in the last one."""
    step, names = step_at(project, angle_deg), project.shaft.step_names
    return BenchStop(angle_deg, step, names[step - 1] if step <= len(names) else "")


def is_resting(project: Project, solved: LaneSolution, angle_deg: float) -> bool:
    """Return whether a lane dwells at a master angle, degrees; one without dwells always counts."""
    spans = [span for _, span in dwells(project, solved)]
    return not spans or any(span.contains(angle_deg) for span in spans)


def expected(project: Project, solved: LaneSolution, angle: float) -> ExpectedLevel:
    """Return where a lane is expected at a master angle, degrees.

    Raises ValueError for a lane without motion.
    """
    motion = solved.motion
    if motion is None:
        raise ValueError(f"lane {solved.lane.id} has no motion to look at")
    seen = LaneCycle(solved.course)
    output = float(motion.at(np.array([seen.own(angle)]))[0, 0])
    levels = project.levels_of(solved.lane)
    at = [
        level
        for level, intervals in solved.states.items()
        if any(interval.span.contains(seen.circle(angle)) for interval in intervals)
    ]
    near = min(at, key=lambda level: abs(levels[level] - output), default="")
    ranked = sorted(levels, key=lambda level: levels[level])
    share = (output - motion.lowest_mm) / ((motion.highest_mm - motion.lowest_mm) or 1.0)
    return ExpectedLevel(near, output, ranked.index(near) if near else 0, min(1.0, max(0.0, share)))
