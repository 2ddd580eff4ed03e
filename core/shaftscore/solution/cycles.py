"""The motion of a lane through the cycles of the master, whatever turns its stack.

Output s and its derivatives by time follow from the motion by the stack's angle and from how the stack
follows the master: s(own(theta)), differentiated by the chain rule. In a dwell of the stage all but s are 0.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.kinematics.course import chained
from shaftscore.solution.lane import LaneSolution

Floats = npt.NDArray[np.float64]

SAMPLED = 2_000
"""Places in each step of a stage at which peaks are looked for first."""

ROUNDS = 5
"""How often the neighbourhood of the highest place is divided."""

CORNER_SHARE = 1e-6
"""A derivative at the ends of a stage's step over this share of its peak is a jump."""


def circle_deg(lane: LaneSolution, cycle: int, master_deg: Floats) -> Floats:
    """Return the angles of the circle of a lane's round at angles of the master in a cycle, from 1, (n,)."""
    master = np.asarray(master_deg, np.float64) + TURN * (cycle - 1)
    found: Floats = master / float(lane.course.cycles)
    return found


def motion_at(lane: LaneSolution, circle: Floats) -> tuple[Floats, Floats]:
    """Return the stack's own angles, (n,) degrees, and the output with its derivatives by time, (4, n).

    circle: (n,) angles of the circle of the lane's round. Raises ValueError for a lane without motion.
    """
    if lane.motion is None:
        raise ValueError(f"{lane.lane.label} has no motion")
    own = lane.course.own(circle)
    omega = np.radians(lane.circle_deg_per_s)
    values = chained(lane.motion.at(own[0]), own)
    return np.asarray(wrap(own[0])), values * omega ** np.arange(4)[:, None]


def stepped_peaks(lane: LaneSolution) -> tuple[float | None, float | None, float | None]:
    """Return the largest speed (mm/s), acceleration (mm/s²) and jerk (mm/s³) of a lane on a stepped stack.

    None where a quantity has no limit: where its stage starts and stops with a jump of it, while the output
    depends on the stack's angle.
    """
    starts, ends = step_ends(lane)
    circle = step_places(lane)
    width = float(np.max(ends - starts)) / SAMPLED
    peaks = [_peak(lane, circle, order, width) for order in (1, 2, 3)]
    return _limited(lane, starts, ends, peaks)


def step_ends(lane: LaneSolution) -> tuple[Floats, Floats]:
    """Return where each step of a stepped stack starts and ends on the circle, (steps,) unrolled degrees."""
    course = lane.course
    rests = np.arange(0.0, TURN * course.turns, course.step_deg)
    return course.last(rests), course.first(rests + course.step_deg)


def step_places(lane: LaneSolution) -> Floats:
    """Return places of the circle in every step of a stepped stack, both ends included, and in each rest.

    (n,) unrolled degrees.
    """
    starts, ends = step_ends(lane)
    inside = starts[:, None] + (ends - starts)[:, None] * np.linspace(0.0, 1.0, SAMPLED)
    following = np.append(starts[1:], starts[0] + TURN)
    return np.concatenate([inside.ravel(), (ends + following) / 2])


def _peak(lane: LaneSolution, circle: Floats, order: int, width: float) -> float:
    """Return the greatest absolute value of a derivative, looked for ever nearer to the highest place."""
    values = np.abs(motion_at(lane, circle)[1][order])
    for _ in range(ROUNDS):
        at = int(np.argmax(values))
        near = circle[at] + np.linspace(-width, width, 33)
        circle = np.append(circle, near)
        values = np.append(values, np.abs(motion_at(lane, near)[1][order]))
        width /= 8
    return float(values.max())


def _limited(
    lane: LaneSolution, starts: Floats, ends: Floats, peaks: list[float]
) -> tuple[float | None, float | None, float | None]:
    """Return the peaks, None for those above the first derivative that jumps."""
    assert lane.motion is not None, "its peaks were found"
    nudge = 1e-9
    edges = motion_at(lane, np.concatenate((starts + nudge, ends - nudge)))[1]
    jumps = [
        bool(np.any(np.abs(edges[order]) > CORNER_SHARE * max(peaks[order - 1], 1e-12))) for order in (1, 2)
    ]
    corner = jumps[0] or bool(lane.motion.velocity_jumps())
    step = corner or jumps[1] or bool(lane.motion.acceleration_jumps())
    velocity, acceleration, jerk = peaks
    return velocity, None if corner else acceleration, None if step else jerk
