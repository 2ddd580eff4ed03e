"""velocity-jump: a corner in the motion, where the follower would have to change speed in no time."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import radians

from shaftscore.base.angles import ahead, turn_to
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.base import Curable, LaneCheck, with_motion
from shaftscore.judge.checks.cures import Attempt, first_verified, part_of
from shaftscore.judge.checks.moves import in_cycle, named, subject_of
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.lane_motion import DerivativeStep
from shaftscore.kinematics.motion.segments import Move, Segment
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.lane import motion_of

SMOOTH = "modified-sine"
"""The law that a cure proposes: it starts and ends at rest, and is the format's default."""


def velocity_jump(solution: Solution, lane: LaneSolution) -> Iterator[Finding | Curable]:
    """Find every corner; each is said of the move that ends there, else of the one that starts there."""
    assert lane.motion is not None
    for step in lane.motion.velocity_jumps():
        segment, where = _segment_at(lane.motion, step)
        finding = found(
            "velocity-jump",
            (lane.lane.id,),
            span=in_cycle(lane, step.theta_deg, 0.0),
            value=abs(step.right - step.left) * radians(lane.deg_per_s),
            limit=0.0,
            subjects=subject_of(lane, segment),
            place=("start", "middle", "end").index(where),
            facts=named(segment),
            where=where,
        )
        if isinstance(segment, Move):
            find = partial(_cure, solution.project, lane, segment, step)
            yield Curable(finding, find, len(lane.lane.blocks))
        else:
            yield finding


def _segment_at(motion: LaneMotion, step: DerivativeStep) -> tuple[Segment, str]:
    """Return the segment in which a corner lies and where in it: its end, its start, or between."""
    solid = [segment for segment in motion.segments if segment.length_deg > 0 and segment.curve is not None]
    for segment in solid:
        if abs(turn_to(segment.start_deg + segment.length_deg, step.theta_deg)) <= ANGLE_DEG and step.left:
            return segment, "end"
    for segment in solid:
        if abs(turn_to(segment.start_deg, step.theta_deg)) <= ANGLE_DEG:
            return segment, "start"
    inside = min(solid, key=lambda segment: ahead(segment.start_deg, step.theta_deg))
    return inside, "middle"


def _cure(project: Project, lane: LaneSolution, move: Move, step: DerivativeStep) -> Cure | None:
    """Take a law that starts and ends at rest."""
    ref = BlockRef(lane.lane.program_id, move.block)
    kind = named(move)["move"]
    text = f"Use the law {SMOOTH} for the {kind} to {move.to_level}."
    project = part_of(project, lane.lane.id)
    attempt = Attempt("set_block_law", {"ref": ref, "law": SMOOTH}, text)
    return first_verified(project, (attempt,), lambda edited: not _jumps(edited, lane.lane.id, step))


def _jumps(project: Project, lane_id: str, step: DerivativeStep) -> bool:
    """Return whether the lane still has a corner where `step` was, or no motion at all."""
    motion = motion_of(project, project.lane(lane_id))
    if not isinstance(motion, LaneMotion):
        return True
    return any(
        abs(turn_to(step.theta_deg, other.theta_deg)) <= ANGLE_DEG for other in motion.velocity_jumps()
    )


VELOCITY_JUMP = LaneCheck(("velocity-jump",), with_motion(velocity_jump))
