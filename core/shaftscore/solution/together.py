"""What many lanes need that are solved at once, worked out ahead of them in one call each.

Motions come lane by lane from their records; their runs, the intervals at their levels and the places on
their smooth pieces are then worked out together. A lane that is solved by itself comes to the same without.
"""

from __future__ import annotations

from collections.abc import Sequence

from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.states import level_intervals_together
from shaftscore.kinematics.motion.together import MotionGroup
from shaftscore.kinematics.profiles import may_drop
from shaftscore.kinematics.profiles.nodes_together import nodes_together
from shaftscore.model import Lane, Project
from shaftscore.model.driven import driven_follower
from shaftscore.model.lanes import Follower
from shaftscore.solution.lane import LaneAhead, motion_of


def ahead_of(project: Project, lanes: Sequence[Lane]) -> dict[str, LaneAhead]:
    """Work out together what some lanes need, by their ids; lanes without a motion are left out."""
    made = [(lane, motion_of(project, lane)) for lane in lanes]
    moving = [(lane, motion) for lane, motion in made if isinstance(motion, LaneMotion)]
    if not moving:
        return {}
    group = MotionGroup.of([motion for _, motion in moving])
    states = level_intervals_together([project.named_lane(lane) for lane, _ in moving], group)
    nodes = nodes_together(group, [_sampled(lane) for lane, _ in moving])
    each = zip(moving, states, nodes, strict=True)
    return {lane.id: LaneAhead(motion, found, places) for (lane, motion), found, places in each}


def _sampled(lane: Lane) -> Follower | None:
    """Return the follower of a lane whose places are found together with others'."""
    if not lane.has_disc or may_drop(lane):
        return None
    follower = driven_follower(lane)
    return follower if follower.link is None else None
