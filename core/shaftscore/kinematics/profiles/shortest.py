"""The shortest angle that a move needs under its lane's limits, for the hints of the limits' findings.

The move is tried alone, between two rests, over shorter and longer angles: it fits when pressure angle
and curvature keep their limits, over the given base radius or, where that is "auto", over any radius up
to the largest disc.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.law import Law
from shaftscore.kinematics.motion.segments import Dwell, Move
from shaftscore.kinematics.profiles.build import sizing_for
from shaftscore.kinematics.profiles.sizing import (
    CLOSE_DEG,
    TRIES,
    Sizing,
    radii_to_try,
    root,
    with_extremes_at,
)
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project

SHORTEST_DEG = 0.1
"""Shortest move that is tried, degrees."""

LONGEST_DEG = TURN - 1.0
"""Longest move that is tried, degrees."""


def shortest_move(
    project: Project, lane: Lane, move: Move, law: Law | None = None, base_radius_mm: float | None = None
) -> float | None:
    """Return the smallest angle in which `move` keeps its lane's limits, degrees; None if none does.

    law: instead of the move's own. base_radius_mm: the radius that its base group decided; otherwise the
    lane's own. Raises ValueError if the follower cannot stand over a given radius, or LinkRangeError for
    its link.
    """
    tried = replace(move, law=law, mirrored=_mirrored(law, move)) if law else move

    def excess(length_deg: float) -> float:
        return _excess(project, lane, _alone(tried, length_deg), base_radius_mm)

    lengths = np.geomspace(SHORTEST_DEG, LONGEST_DEG, TRIES)
    before = excess(SHORTEST_DEG)
    if before <= 0:
        return SHORTEST_DEG
    for short, long in pairwise(lengths):
        after = excess(float(long))
        if after <= 0:
            return root(excess, float(short), float(long), before, after)
        before = after
    return None


def fits_in(
    project: Project, lane: Lane, move: Move, length_deg: float, base_radius_mm: float | None = None
) -> bool:
    """Return whether a move keeps its lane's limits in an angle, degrees; see `shortest_move`."""
    return _excess(project, lane, _alone(move, length_deg), base_radius_mm) <= 0


def _excess(project: Project, lane: Lane, alone: LaneMotion, base_radius_mm: float | None) -> float:
    """Return by how much a move alone is over its lane's limits, a share of them; none at 0 or less."""
    given = base_radius_mm or lane.disc.base_radius_mm
    sizing = sizing_for(project, lane, alone)
    return _least_excess(sizing, radii_to_try(sizing) if given == "auto" else np.array([given]))


def _mirrored(law: Law, move: Move) -> bool:
    """Return whether a law that is not symmetric runs mirrored in time: on a fall."""
    return move.rise_mm < 0 and not law.symmetric


def _alone(move: Move, length_deg: float) -> LaneMotion:
    """Return a turn that holds the move and rests at its end."""
    alone = replace(move, start_deg=0.0, length_deg=length_deg)
    return LaneMotion((alone, Dwell(length_deg, TURN - length_deg, move.to_mm, move.to_level, ())))


def _least_excess(sizing: Sizing, radii_mm: Reals) -> float:
    """Return the largest excess of the move's shape at the best radius, its extremes refined there.

    The room about the bore is left out: it does not depend on the move's length.
    """
    best = radii_mm[[np.argmin(sizing.worst_of(radii_mm, shape_only=True))]]
    return float(with_extremes_at(sizing, float(best[0]), CLOSE_DEG[-1]).worst_of(best, shape_only=True)[0])
