"""The guidance of a lane with a straight-line lever, over its travel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shaftscore.built.guidance import GuidedLever, guided_lever

if TYPE_CHECKING:  # the records import this module
    from shaftscore.model.lanes import Lane


def lane_guidance(lane: Lane) -> GuidedLever | None:
    """Return the guidance of a lane with a straight-line lever over its travel; None for other lanes.

    Raises GuidanceError for links that cannot guide it, which no lane of a file has.
    """
    parts = lane.parts
    if parts is None or parts.kind != "straight-line":
        return None
    lengths = [None, None] if parts.links is None else [link.mm for link in parts.links]
    return guided_lever(parts.output_mm, travel_mm(lane), *lengths)


def travel_mm(lane: Lane) -> float:
    """Return the highest output of a lane, mm; 0 without levels or points."""
    if lane.points is not None:
        return max(point.output_mm for point in lane.points)
    return max(lane.levels.values(), default=0.0)
