"""How fast the stack of a lane turns where its forces are taken, and what its torque counts at the master.

A geared stack turns evenly. A stepped one does not: its speed and its acceleration by the circle of its
round follow from where it is, and while its stage holds it nothing of its torque reaches the master.
"""

from __future__ import annotations

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.judge.loads.forces import EVEN, OwnSpeed, angular_speed
from shaftscore.kinematics.course import StackCourse
from shaftscore.kinematics.followers import Reals


def even_speed(course: StackCourse, speed_rpm: float) -> float:
    """Return the speed of a stack, rad/s; of a stepped one that of the circle of its round.

    speed_rpm: of the master shaft.
    """
    return angular_speed(speed_rpm, 1 / float(course.cycles) if course.is_stepped else course.rate)


def own_speed(course: StackCourse, theta_deg: Reals) -> OwnSpeed:
    """Return how a stack moves when it comes to angles of its own, (n,) degrees."""
    if not course.is_stepped:
        return EVEN
    _, ratio, bend, _ = course.own(course.first(np.asarray(wrap(theta_deg), np.float64)))
    return OwnSpeed(ratio, bend)


def geared_at(course: StackCourse, circle_deg: Reals) -> tuple[Reals, Reals | float]:
    """Return the stack's angles at angles of the circle of its round, (n,) degrees, and its gearing.

    The gearing is its speed there over its mean speed, (n,): what its torque counts at the master.
    """
    if not course.is_stepped:
        return np.asarray(wrap(circle_deg * course.turns)), 1.0
    own = course.own(circle_deg)
    return np.asarray(wrap(own[0])), np.asarray(own[1] / course.turns)
