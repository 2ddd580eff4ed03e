"""no-time: blocks of different levels overlap or touch, so that the lane has no motion."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from shaftscore.base.tolerance import CURE_DEG
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.base import Curable, LaneCheck
from shaftscore.judge.checks.cures import Attempt, begun, ended, first_verified, is_free, part_of
from shaftscore.judge.checks.moves import in_cycle
from shaftscore.judge.findings import Cure, found
from shaftscore.kinematics.motion.lane import Clash, LaneMotion
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.lane import motion_of


def no_time(solution: Solution, lane: LaneSolution) -> Iterator[Curable]:
    """Find every pair of blocks that leaves no time to move between them; a rider's are its disc's."""
    if lane.no_motion is not None and lane.lane.kind != "rider":
        for clash in lane.no_motion.clashes:
            yield _finding(solution.project, lane, clash)


def _finding(project: Project, lane: LaneSolution, clash: Clash) -> Curable:
    """Make the finding of two blocks that overlap or touch, in the first turn of the lane's stack."""
    blocks = lane.lane.blocks
    refs = (BlockRef(lane.lane.id, clash.first), BlockRef(lane.lane.id, clash.second))
    finding = found(
        "no-time",
        (lane.lane.id,),
        span=in_cycle(lane, clash.span.start, clash.span.length),
        value=clash.short_deg,
        limit=0.0,
        subjects=refs,
        from_level=blocks[clash.first].level,
        to_level=blocks[clash.second].level,
    )
    return Curable(finding, partial(_cure, project, *refs, clash.short_deg), len(blocks))


def _cure(project: Project, first: BlockRef, second: BlockRef, short_deg: float) -> Cure | None:
    """End the first block earlier, or else begin the second later, by the least that leaves a move."""
    project = part_of(project, first.lane_id)
    room = short_deg + CURE_DEG
    attempts: list[Attempt | None] = []
    if is_free(project, first):
        attempts.append(ended(project, first, -room))
    if is_free(project, second):
        attempts.append(begun(project, second, room))
    return first_verified(project, filter(None, attempts), lambda edited: not _clash(edited, first, second))


def _clash(project: Project, first: BlockRef, second: BlockRef) -> bool:
    motion = motion_of(project, project.lane(first.lane_id))
    if isinstance(motion, LaneMotion):
        return False
    return any((clash.first, clash.second) == (first.index, second.index) for clash in motion.clashes)


NO_TIME = LaneCheck(("no-time",), no_time)
