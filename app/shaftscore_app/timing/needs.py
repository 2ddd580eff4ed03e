"""The shortest move beside the edge of a block that is dragged: what it needs, and what it has. Pure.

The start of a block ends the move that leads to it, its end begins the next one. How short a move may be
follows from its lane's limits, law and disc, not from where it lies, so it is worked out once a drag.
"""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.base.tolerance import CURE_DEG
from shaftscore.edits import BlockRef
from shaftscore.judge.report import Report
from shaftscore.kinematics.followers import LinkRangeError
from shaftscore.kinematics.motion.moves import DROP
from shaftscore.kinematics.motion.segments import Dwell, Move
from shaftscore.kinematics.profiles import shortest_move
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.solution import LaneSolution


def shortest_beside(report: Report, ref: BlockRef, grip: Grip) -> float | None:
    """Return the smallest angle that the move beside a block's edge needs, own degrees, rounded up.

    None for a whole block, where there is no such move or none is long enough, and for a drop, which falls in
    its own time.
    """
    lane = report.solution.lanes.get(ref.lane_id)
    move = None if lane is None else _move_beside(lane, ref, grip)
    if lane is None or move is None or move.law.name == DROP or not lane.lane.has_disc:
        return None
    shared = None if lane.shared is None else lane.shared.radius_mm
    try:
        found = shortest_move(report.project, lane.lane, move, base_radius_mm=shared)
    except (ValueError, LinkRangeError):  # the follower can stand nowhere: the lane's findings say why
        return None
    return None if found is None else wording.up_to(found, CURE_DEG)


def need_text(report: Report, ref: BlockRef, grip: Grip, needed_deg: float | None) -> str:
    """Describe how long the move beside a held edge is and must be; empty where that is not known."""
    if needed_deg is None:
        return ""
    lane = report.solution.lanes.get(ref.lane_id)
    move = None if lane is None else _move_beside(lane, ref, grip)
    has = "" if move is None else f"{wording.degrees(move.length_deg)}, "
    return f"move {has}at least {wording.degrees(needed_deg)}"


def _move_beside(lane: LaneSolution, ref: BlockRef, grip: Grip) -> Move | None:
    """Return the move that ends or begins at an edge of a block; None where the lane rests there."""
    if lane.motion is None or grip is Grip.WHOLE:
        return None
    segments = lane.motion.segments
    for number, segment in enumerate(segments):
        if isinstance(segment, Dwell) and ref.index in segment.blocks:
            beside = segments[(number + (1 if grip is Grip.END else -1)) % len(segments)]
            return beside if isinstance(beside, Move) and beside.rise_mm else None
    return None
