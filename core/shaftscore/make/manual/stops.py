"""A stop of the machine as the bench sees it: its step, and which lanes rest there.

The stops of a machine are `shaftscore.bringup.check_angles`, angles of the test cards. A lane that moves at a
stop is not looked at there.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.bringup.angles import dwells, step_at
from shaftscore.model import Project
from shaftscore.solution import LaneSolution


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
