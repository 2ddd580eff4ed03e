"""How far each stack has turned at angles of the master shaft: geared, slow, or stepped by another stack."""

from __future__ import annotations

import numpy as np

from shaftscore.kinematics.course import course_of
from shaftscore.layout.placed import Course, PlanPose, Reals
from shaftscore.model import Project, Stack
from shaftscore.stack import turn_sign


def master_at_deg(project: Project, stack: Stack, own_deg: Reals) -> Reals:
    """Return the angles of the master at which a stack has turned by angles of its own, (n,) degrees."""
    course = course_of(project, stack)
    return np.asarray(course.first(own_deg) * float(course.cycles))


def stack_course(project: Project, stack: Stack, at: complex = 0j) -> Course:
    """Return the course of what turns with a stack, its zero mark at +x at 0°; at: axis of the stack, mm.

    A stepped stack that is amid a step at 0° has its zero mark there when that is done.
    """
    sign, turning = turn_sign(project, stack), course_of(project, stack)

    def course(master_deg: Reals) -> PlanPose:
        """Return the pose at angles of the master shaft, degrees."""
        own = turning.own(np.asarray(master_deg, np.float64) / float(turning.cycles))[0]
        return PlanPose(np.full(len(master_deg), at, np.complex128), np.exp(1j * np.radians(sign * own)))

    return course
