"""The curves of the Motion view: output, velocity, acceleration and jerk over one cycle, pure numbers.

Angles are master angles; a stack that turns k times a cycle shows its program k times. Values are at the
machine's nominal speed. A step stands as two points at one angle, so that it is drawn upright.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.judge.loads import LaneLoads
from shaftscore.judge.loads.lane import GRID
from shaftscore.kinematics.course import LaneCycle
from shaftscore.kinematics.motion.lane_motion import LaneMotion, Peak
from shaftscore.make.drawing.timing.cycle import SAMPLES
from shaftscore.solution import LaneSolution
from shaftscore.solution.cycles import motion_at

Floats = npt.NDArray[np.float64]

NAMES = ("Output", "Velocity", "Acceleration", "Jerk")
UNITS = ("mm", "mm/s", "mm/s²", "mm/s³")

INKS: tuple[tuple[str, tuple[float, ...]], ...] = (
    ("curve", ()),
    ("l1-edge", (6.0, 2.0)),
    ("l2-edge", (2.0, 1.5)),
    ("l3-edge", (6.0, 1.5, 1.5, 1.5)),
    ("l4-edge", (3.0, 1.5)),
    ("l5-edge", (8.0, 1.5, 1.0, 1.5, 1.0, 1.5)),
)
"""Colour token and dashes of the lanes shown, in their order: told apart without colour."""

MOST_LANES = len(INKS)
"""So many lanes are shown at most."""


@dataclass(frozen=True, eq=False)
class Curves:
    """Curves of one lane.

    theta_deg: (n,) rising, from before 0 to after 360. values: (4, n), in `UNITS`. peaks: (angle, value)
    of the largest absolute velocity, acceleration and jerk within one turn.
    """

    theta_deg: Floats
    values: Floats
    peaks: tuple[tuple[float, float], ...]


def curves_of(solution: LaneSolution, cycle: int = 1) -> Curves | None:
    """Return the curves of a solved lane in a cycle; None without motion."""
    motion = solution.motion
    if motion is None:
        return None
    seen = LaneCycle(solution.course, cycle)
    if not seen.is_alike:
        return _curves_in(solution, seen)
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


def _curves_in(solution: LaneSolution, seen: LaneCycle) -> Curves:
    """Return the curves of a lane on a slow or stepped stack in one cycle, sampled."""
    theta = np.linspace(0.0, TURN, SAMPLES + 1)
    values = motion_at(solution, (theta + seen.low_deg) / float(seen.course.cycles))[1]
    highest = [int(np.argmax(np.abs(values[order]))) for order in (1, 2, 3)]
    peaks = tuple((float(theta[at]), float(values[order, at])) for order, at in enumerate(highest, 1))
    return Curves(theta, values, peaks)


def _signed(motion: LaneMotion, peak: Peak, order: int) -> float:
    """Return a peak with its sign: the larger of both sides at its angle."""
    theta = np.array([peak.theta_deg])
    sides = (float(motion.at(theta, "left")[order, 0]), float(motion.at(theta, "right")[order, 0]))
    return max(sides, key=abs)


@dataclass(frozen=True, eq=False)
class Release:
    """The acceleration of the output at which a spring loses contact, over one cycle of the master shaft.

    theta_deg: (n,) 0 to 360. limit: (n,) mm/s². slack: (angle, acceleration there, limit there) where the
    acceleration comes nearest to it.
    """

    theta_deg: Floats
    limit: Floats
    slack: tuple[float, float, float]


def release_of(loads: LaneLoads) -> Release | None:
    """Return where a lane loses contact at the nominal speed; None for a groove, or without a mass."""
    if loads.is_groove or loads.load.moving_mass_g == 0:
        return None
    turns = loads.solved.turns
    forces = loads.forces(wrap(GRID * turns), loads.speed_rpm)
    limit, own = forces.release_mm_s2, forces.output[2] * forces.omega**2
    nearest = int(np.argmin(own - limit))
    slack = (float(GRID[nearest]), float(own[nearest]), float(limit[nearest]))
    return Release(np.append(GRID, 360.0), np.append(limit, limit[0]), slack)


@dataclass(frozen=True, eq=False)
class LaneCurves:
    """The curves of one of the lanes shown; label: its code and name."""

    lane_id: str
    label: str
    curves: Curves
    release: Release | None = None
