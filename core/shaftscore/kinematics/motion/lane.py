"""From a lane's record to its motion.

Blocks of one level that overlap or touch are one dwell; whatever lies between two successive dwells
is a move, which fills the gap. Where blocks of different levels overlap or touch there is no time for
a move and the lane has no motion: a `NoMotion` says which blocks clash, and by how many degrees.
"""

from __future__ import annotations

from dataclasses import replace

from shaftscore.base.angles import TURN
from shaftscore.kinematics.motion.blocks import alike, clashes, dwells
from shaftscore.kinematics.motion.drop import with_drops
from shaftscore.kinematics.motion.index import index_motion
from shaftscore.kinematics.motion.lane_motion import LaneMotion, Nodes
from shaftscore.kinematics.motion.moves import DROP, in_order, law_name, with_moves
from shaftscore.kinematics.motion.no_motion import Clash, NoMotion
from shaftscore.kinematics.motion.points import points_motion
from shaftscore.kinematics.motion.rider import shifted
from shaftscore.kinematics.motion.surroundings import Surroundings, surroundings
from shaftscore.model import Lane

__all__ = ["Clash", "LaneMotion", "NoMotion", "Nodes", "Surroundings", "program", "surroundings"]


def program(lane: Lane, around: Surroundings | None = None) -> LaneMotion | NoMotion:
    """Turn a lane's blocks or points into its motion.

    around: what lies round the lane (`surroundings`); only riders and drops need it, and without it
    give a NoMotion.
    """
    if lane.kind == "points":
        return points_motion(lane)
    if lane.kind == "rider":
        return _rider_motion(around)
    if not lane.blocks:
        return NoMotion("empty")
    found = tuple(clashes(lane.blocks, alike(lane)))
    if found:
        return NoMotion("clash", found)
    if lane.kind == "index" and DROP in {law_name(lane, rest) for rest in dwells(lane)}:
        return NoMotion("law", what="the law drop on an index lane, which nothing lets fall")
    return index_motion(lane) if lane.kind == "index" else _disc_motion(lane, around)


def _rider_motion(around: Surroundings | None) -> LaneMotion | NoMotion:
    if around is None or around.host is None:
        return NoMotion("kind", what="a rider away from the lane whose disc it rides on")
    if around.host.kind not in ("disc", "points"):
        return NoMotion("kind", what=f"a rider on a lane of kind {around.host.kind}, which has no disc")
    motion = program(around.host, replace(around, host=None, later_deg=0.0))
    return shifted(motion, around.later_deg) if isinstance(motion, LaneMotion) else motion


def _disc_motion(lane: Lane, around: Surroundings | None) -> LaneMotion | NoMotion:
    rests = dwells(lane)
    if len(rests) == 1:
        return LaneMotion((replace(rests[0], length_deg=TURN),))
    segments = with_moves(lane, rests)
    if any(law_name(lane, rest) == DROP for rest in rests):
        return with_drops(lane, segments, around)
    return LaneMotion(in_order(segments))
