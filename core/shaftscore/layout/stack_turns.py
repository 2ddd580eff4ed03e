"""How far each stack has turned at angles of the master shaft: geared, slow, or stepped by another stack."""

from __future__ import annotations

import numpy as np

from shaftscore.kinematics.intermittent import stage_of
from shaftscore.layout.placed import Course, PlanPose, Reals
from shaftscore.model import Project, Stack
from shaftscore.stack import turn_sign

TURN_DEG = 360.0


def own_angle_deg(project: Project, stack: Stack, master_deg: Reals) -> Reals:
    """Return the angle of a stack's own turn, growing, at angles of the master, (n,) degrees each.

    Both are 0 together, unless a stepped stack is amid a step then: it comes to 0 at the end of that.
    """
    steps = stack.steps_from
    if steps is None:
        return np.asarray(master_deg * (stack.turns / stack.cycles))
    driver = own_angle_deg(project, next(one for one in project.stacks if one.id == steps.stack), master_deg)
    since = driver - steps.start_deg
    whole = np.floor(since / TURN_DEG)
    stage = stage_of(steps)
    course = stage.course(np.asarray(since - TURN_DEG * whole))[0]
    return np.asarray(course + stage.step_deg * whole)


def master_at_deg(project: Project, stack: Stack, own_deg: Reals) -> Reals:
    """Return the angles of the master at which a stack has turned by angles of its own, (n,) degrees."""
    steps = stack.steps_from
    if steps is None:
        return np.asarray(own_deg * stack.cycles / stack.turns)
    stage = stage_of(steps)
    whole = np.floor(own_deg / stage.step_deg)
    within = stage.driver_at(np.asarray(own_deg - stage.step_deg * whole))
    driver = steps.start_deg + TURN_DEG * whole + within
    return master_at_deg(project, next(one for one in project.stacks if one.id == steps.stack), driver)


def stack_course(project: Project, stack: Stack, at: complex = 0j) -> Course:
    """Return the course of what turns with a stack, its zero mark at +x at 0°; at: axis of the stack, mm."""
    sign = turn_sign(project, stack)

    def course(master_deg: Reals) -> PlanPose:
        """Return the pose at angles of the master shaft, degrees."""
        turned = np.exp(1j * np.radians(sign * own_angle_deg(project, stack, master_deg)))
        return PlanPose(np.full(len(master_deg), at, np.complex128), turned)

    return course
