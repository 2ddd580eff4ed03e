"""Riders: a second follower on another lane's disc repeats that lane's program, later."""

from __future__ import annotations

from dataclasses import replace

from shaftscore.base.angles import wrap
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.moves import in_order


def shifted(motion: LaneMotion, by_deg: float) -> LaneMotion:
    """Run a motion later by `by_deg`; the blocks of its dwells stay those of the lane it is from.

    Raises ValueError for a motion that drops at 0: that place of the turn cannot be moved.
    """
    if motion.drop_mm:
        raise ValueError(f"an index lane's motion cannot run later, asked for {by_deg!r} degrees")
    later = in_order(
        [replace(segment, start_deg=wrap(segment.start_deg + by_deg)) for segment in motion.segments]
    )
    edge = shifted(motion.edge, by_deg) if motion.edge is not motion else None
    drops = tuple(replace(drop, start_deg=wrap(drop.start_deg + by_deg)) for drop in motion.drops)
    return LaneMotion(later, drops=drops, edge_motion=edge)
