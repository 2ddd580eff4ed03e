"""velocity-jump: a corner in the motion, where the follower would have to change speed in no time."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import radians

import numpy as np

from shaftscore.base.angles import Arcs, ahead, turn_to
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
from shaftscore.solution.cycles import motion_at, step_ends, step_places
from shaftscore.solution.lane import motion_of

JUST_INSIDE_DEG = 1e-7
"""How far inside a step the speed is read that its stage starts or ends with, degrees of the round."""

SLOW_SHARE = 1e-3
"""A speed under this share of the greatest is none: a Geneva wheel starts and stops smoothly."""

OF_STAGE = 10
"""What tells the finding on the stage from those on the lane's own corners."""

SMOOTH = "modified-sine"
"""The law that a cure proposes: it starts and ends at rest, and is the format's default."""


def velocity_jump(solution: Solution, lane: LaneSolution) -> Iterator[Finding | Curable]:
    """Find every corner; each is said of the move that ends there, else of the one that starts there."""
    assert lane.motion is not None
    if lane.course.is_stepped:
        yield from _of_stage(lane)
    for step in lane.motion.velocity_jumps():
        segment, where = _segment_at(lane.motion, step)
        finding = found(
            "velocity-jump",
            (lane.lane.id,),
            span=in_cycle(lane, step.theta_deg, 0.0),
            value=abs(step.right - step.left) * radians(_deg_per_s(lane, step.theta_deg)),
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


def _deg_per_s(lane: LaneSolution, own_deg: float) -> float:
    """Return how fast the lane's stack turns at an angle of its own, degrees a second."""
    if not lane.course.is_stepped:
        return lane.deg_per_s
    circle = np.array([lane.course.place(own_deg)])
    return float(lane.course.own(circle)[1, 0]) * lane.circle_deg_per_s


def _of_stage(lane: LaneSolution) -> Iterator[Finding]:
    """Find the greatest jump of speed that the stage brings about where it starts or stops at once."""
    starts, ends = step_ends(lane)
    inside = np.concatenate((starts + JUST_INSIDE_DEG, ends - JUST_INSIDE_DEG))
    speeds = np.abs(motion_at(lane, inside)[1][1])
    at = int(np.argmax(speeds))
    most = float(np.max(np.abs(motion_at(lane, step_places(lane))[1][1])))
    if speeds[at] <= SLOW_SHARE * most:
        return
    place = float(np.concatenate((starts, ends))[at])
    yield found(
        "velocity-jump",
        (lane.lane.id,),
        span=Arcs.span(place, 0.0),
        value=float(speeds[at]),
        limit=0.0,
        place=OF_STAGE,
        cure=Cure(sentence="Let it dwell while the stage starts and stops, or use a Geneva wheel."),
        where="start" if at < len(starts) else "end",
        by="stage",
    )


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
