"""The follower that a lane's parts make: that of its record, through the links of a straight-line lever.

A straight-line lever's output is led by two links, so that its travel is not that of the roller by one
ratio. What the links really do enters the follower's `link`, a table of the linkage's own positions; all
that reads a follower's output reads it from there.
"""

from __future__ import annotations

from functools import lru_cache

from shaftscore.built.guidance import GuidedLever, guided_lever
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


def lane_guidance(lane: Lane) -> GuidedLever | None:
    """Return the guidance of a lane with a straight-line lever over its travel; None for other lanes.

    Raises GuidanceError for links that cannot guide it, which no lane of a file has.
    """
    parts = lane.parts
    if parts is None or parts.kind != "straight-line":
        return None
    output_mm = parts.arm_mm if parts.output_arm_mm is None else parts.output_arm_mm
    lengths = [None, None] if parts.links is None else [link.mm for link in parts.links]
    return guided_lever(output_mm, travel_mm(lane), *lengths)


def travel_mm(lane: Lane) -> float:
    """Return the highest output of a lane, mm; 0 without levels or points."""
    if lane.points is not None:
        return max(point.output_mm for point in lane.points)
    return max(lane.levels.values(), default=0.0)


@lru_cache(maxsize=256)
def _guided(follower: SwingingRoller, guide: GuidedLever) -> Follower:
    rows = guide.rows(follower.arm_mm)
    link = tuple(LinkPoint(roller_mm=roller, output_mm=output) for roller, output in rows)
    kept = {name: getattr(follower, name) for name in follower.model_fields_set - {"output_arm_mm"}}
    return SwingingRoller(**(kept | {"link": link}))
