"""The curves of the Motion view: output, velocity, acceleration and jerk over one cycle, pure numbers.

Angles are master angles; a stack that turns k times a cycle shows its program k times. Values are at the
machine's nominal speed. A step stands as two points at one angle, so that it is drawn upright.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.motion.lane_motion import LaneMotion, Peak
from core.solution import LaneSolution

Floats = npt.NDArray[np.float64]

NAMES = ("Output", "Velocity", "Acceleration", "Jerk")
UNITS = ("mm", "mm/s", "mm/s²", "mm/s³")


@dataclass(frozen=True, eq=False)
class Curves:
    """Curves of one lane.

    theta_deg: (n,) rising, from before 0 to after 360. values: (4, n), in `UNITS`. peaks: (angle, value)
    of the largest absolute velocity, acceleration and jerk within one turn.
    """

    theta_deg: Floats
    values: Floats
    peaks: tuple[tuple[float, float], ...]


def curves_of(solution: LaneSolution) -> Curves | None:
    """Give the curves of a solved lane; None without motion."""
    motion = solution.motion
    if motion is None:
        return None
    nodes, turns = motion.nodes(), solution.turns
    per_s = np.radians(solution.deg_per_s) ** np.arange(4)
    turns_shown = range(-1, turns + 1)  # nodes begin anywhere in a turn, so one before and one after
    extremes = motion.extremes()
    peaks = (extremes.velocity, extremes.acceleration, extremes.jerk)
    return Curves(
        np.concatenate([(nodes.theta_deg + 360.0 * turn) / turns for turn in turns_shown]),
        np.tile(nodes.values * per_s[:, None], len(turns_shown)),
        tuple(
            (peak.theta_deg / turns, _signed(motion, peak, order) * float(per_s[order]))
            for order, peak in enumerate(peaks, start=1)
        ),
    )


def _signed(motion: LaneMotion, peak: Peak, order: int) -> float:
    """Give a peak with its sign: the larger of both sides at its angle."""
    theta = np.array([peak.theta_deg])
    sides = (float(motion.at(theta, "left")[order, 0]), float(motion.at(theta, "right")[order, 0]))
    return max(sides, key=abs)
