"""drop-late and drop-one-way: what a steep edge costs.

At a drop the follower falls in its own time. It is *late* where it comes to rest after the block that it
falls to has begun. At every drop the machine must not be turned backwards: the roller would have to climb
the steep edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from shaftscore.base.tolerance import over
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.base import Curable, LaneCheck, with_motion
from shaftscore.judge.checks.cures import begun, first_verified, is_free
from shaftscore.judge.checks.moves import in_cycle
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.lane_motion import Drop
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.lane import motion_of

ROOMS = (1.0, 1.5, 2.0, 3.0)
"""How many times the lateness a cure adds to the gap: more room lets the edge fall more gently, too."""


def drop(solution: Solution, lane: LaneSolution) -> Iterator[Finding | Curable]:
    """Find late landings, and note every drop."""
    assert lane.motion is not None
    for fall in lane.motion.drops:
        ref = BlockRef(lane.lane.program_id, fall.block)
        block = solution.project.lane(ref.lane_id).blocks[ref.index]
        yield found(
            "drop-one-way",
            (lane.lane.id,),
            span=in_cycle(lane, fall.start_deg, fall.edge_deg),
            subjects=(ref,),
            to_level=block.level,
        )
        if over(fall.late_deg, 0.0):
            late = found(
                "drop-late",
                (lane.lane.id,),
                span=in_cycle(lane, fall.start_deg + fall.fall_deg - fall.late_deg, fall.late_deg),
                value=fall.late_deg,
                limit=0.0,
                subjects=(ref,),
                seconds=fall.late_deg / lane.deg_per_s,
                to_level=block.level,
            )
            yield Curable(late, partial(_cure, solution.project, ref, fall), len(lane.lane.blocks))


def _cure(project: Project, ref: BlockRef, fall: Drop) -> Cure | None:
    """Begin the block later, by the least of a few amounts that cures."""
    if not is_free(project, ref):
        return None
    attempts = filter(None, (begun(project, ref, fall.late_deg * room) for room in ROOMS))
    return first_verified(project, attempts, lambda edited: not _late(edited, ref))


def _late(project: Project, ref: BlockRef) -> bool:
    motion = motion_of(project, project.lane(ref.lane_id))
    if not isinstance(motion, LaneMotion):
        return True
    return any(fall.block == ref.index and over(fall.late_deg, 0.0) for fall in motion.drops)


DROP = LaneCheck(
    (
        "drop-late",
        "drop-one-way",
    ),
    with_motion(drop),
)
