"""The follower that a lane's parts make: that of its record, through the links of a straight-line lever.

A straight-line lever's output is led by two links, so that its travel is not that of the roller by one
ratio. What the links really do enters the follower's `link`, a table of the linkage's own positions; all
that reads a follower's output reads it from there.
"""

from __future__ import annotations

from functools import lru_cache

from shaftscore.built.guidance import GuidedLever
from shaftscore.model.guided import lane_guidance
from shaftscore.model.lanes import Follower, Lane, LinkPoint, SwingingRoller


def driven_follower(lane: Lane) -> Follower:
    """Return the follower of a lane with its link as its parts make it; its own where they make none.

    Always the same object for the same follower and parts.
    """
    guide = lane_guidance(lane)
    if guide is None:
        return lane.follower
    assert isinstance(lane.follower, SwingingRoller)
    return _guided(lane.follower, guide)


@lru_cache(maxsize=256)
def _guided(follower: SwingingRoller, guide: GuidedLever) -> Follower:
    rows = guide.rows(follower.arm_mm)
    link = tuple(LinkPoint(roller_mm=roller, output_mm=output) for roller, output in rows)
    kept = {name: getattr(follower, name) for name in follower.model_fields_set - {"output_arm_mm"}}
    return SwingingRoller(**(kept | {"link": link}))
