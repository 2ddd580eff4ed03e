"""What in a lane may contradict the parts of its follower."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from shaftscore.base.wording import plain
from shaftscore.built.guidance import GuidanceError
from shaftscore.model.base import Contradiction
from shaftscore.model.guided import lane_guidance
from shaftscore.model.parts import FollowerParts, PivotPlace

if TYPE_CHECKING:  # the records import this module
    from shaftscore.model.lanes import Lane, SwingingRoller

PIVOT_MM = 0.05
"""By which the pivot of parts may differ from that of their follower, mm."""


def parts_agree(lane: Lane) -> Iterator[Contradiction]:
    """Refuse parts that are not those of the lane's follower, and links that cannot guide its output."""
    parts, follower = lane.parts, lane.follower
    if parts is None:
        return
    swings = follower.kind == "swinging-roller"
    if swings == (parts.kind == "slide"):
        yield "parts.kind", f"{parts.kind} is for {'translating' if swings else 'swinging'} followers only"
        return
    if follower.link is not None:
        yield "follower.link", "is given together with parts, which make the link; give one of them"
    thick = follower.arm_thickness_mm
    if thick is not None and thick != parts.thickness_mm:
        told = f"the follower's arm_thickness_mm is {plain(thick)} mm"
        yield "parts.thickness_mm", f"{told}, got {plain(parts.thickness_mm)} mm"
    if follower.kind == "swinging-roller":
        yield from _lever(parts, follower)
    elif follower.output_ratio != 1:
        yield "follower.output_ratio", f"must be 1 with a slide, got {plain(follower.output_ratio)}"
    if parts.kind == "straight-line":
        yield from _guided(lane)


def _lever(parts: FollowerParts, follower: SwingingRoller) -> Iterator[Contradiction]:
    """Refuse arms, a rod or a pivot other than those of the follower."""
    if parts.arm_mm != follower.arm_mm:
        yield "parts.arm_mm", f"the follower's is {plain(follower.arm_mm)} mm, got {plain(parts.arm_mm)} mm"
    own = follower.output_arm_mm
    if own is None and parts.kind == "lever":
        own = follower.arm_mm
    if own is not None and own != parts.output_mm:
        told = f"the follower's output arm is {plain(own)} mm, got {plain(parts.output_mm)} mm"
        yield "parts.output_arm_mm", told
    rod = follower.pivot_rod_mm
    if "pivot_rod_mm" in follower.model_fields_set and rod != parts.pivot_rod_mm:
        yield "parts.pivot_rod_mm", f"the follower's is {plain(rod)} mm, got {plain(parts.pivot_rod_mm)} mm"
    if parts.pivot is not None:
        yield from _pivot(parts.pivot, follower)


def _pivot(pivot: PivotPlace, follower: SwingingRoller) -> Iterator[Contradiction]:
    """Refuse a pivot that is not where the follower's may be."""
    distance = abs(complex(pivot.x_mm, pivot.y_mm))
    if abs(distance - follower.pivot_distance_mm) > PIVOT_MM:
        wanted = f"must be {plain(follower.pivot_distance_mm)} mm from the axis as the follower's"
        yield "parts.pivot", f"{wanted}, got {plain(distance, 2)} mm"
    side = "counterclockwise" if pivot.y_mm > 0 else "clockwise"
    if pivot.y_mm != 0 and side != follower.pivot_side:
        told = f"puts the pivot {side} of the line"
        yield "parts.pivot.y_mm", f"{told}; the follower's is {follower.pivot_side}"


def _guided(lane: Lane) -> Iterator[Contradiction]:
    """Refuse links that cannot guide the output of a lane over its levels."""
    if lane.kind in ("rider", "index"):
        yield "parts.kind", f"straight-line is not for a lane of kind {lane.kind}"
        return
    try:
        lane_guidance(lane)
    except GuidanceError as error:
        yield "parts", str(error)
