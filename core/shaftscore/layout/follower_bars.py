"""Levers, links and slides of followers as flat bars: their holes and their outlines.

Frames: see `shaftscore.layout.followers`. A lever is a bar about its pivot, the axle of its roller and its
output or joint, as wide from pivot to roller as interference takes it; it gets narrower towards the output.
A slide is as wide as interference takes it all along, so that it runs in its guide.
"""

from __future__ import annotations

from collections.abc import Callable

from shaftscore.layout.bars import BarHole, FlatBar, turning_hole
from shaftscore.layout.followers import (
    HOOK_MM,
    FollowerLayout,
    FollowerLayoutError,
    half_width_mm,
    part_code,
)
from shaftscore.layout.purchases import JOINT_MM
from shaftscore.model import TranslatingFlat
from shaftscore.stack.followers import roller_axle_mm

BODY_WIDTH = "follower.body_width_mm"
"""The length that says how wide a lever or a slide is."""


def axle_mm(layout: FollowerLayout) -> float:
    """Return the diameter of the screw or pin on which a lane's roller turns, mm.

    Raises FollowerLayoutError for a knife edge.
    """
    follower = layout.lane.follower
    if isinstance(follower, TranslatingFlat) or follower.roller_radius_mm == 0:
        told = f"{layout.lane.label}: a knife edge cannot be made as a part; choose a roller"
        raise FollowerLayoutError(told, "follower.roller_radius_mm", 5.0)
    return roller_axle_mm(follower)


def lever_bar(layout: FollowerLayout) -> FlatBar:
    """Return a lane's lever; raises FollowerLayoutError for a knife edge."""
    parts, half, end = layout.parts, half_width_mm(layout.lane), layout.parts.output_mm
    wide = (
        turning_hole("pivot", 0.0, parts.pivot_rod_mm),
        BarHole("roller", parts.arm_mm, axle_mm(layout) / 2),
    )
    narrow = [BarHole("output", end, parts.output_hole_mm / 2, "parts.output_arm_mm")]
    if layout.guide is not None:
        narrow = [turning_hole("joint", end, JOINT_MM, "parts.output_arm_mm")]
    narrow += _hook(layout)
    bosses = [(hole.at_mm, half) for hole in wide]
    bosses += [(hole.at_mm, min(half, hole.boss[1])) for hole in narrow]
    return FlatBar(
        code=part_code(layout.lane, "L"),
        label=f"lever of {layout.lane.label}",
        holes=(*wide, *narrow),
        bosses=tuple(bosses),
        half_mm=half,
        thickness_mm=parts.thickness_mm,
        count=len(layout.bands.levers),
        width=BODY_WIDTH,
    )


def _hook(layout: FollowerLayout) -> list[BarHole]:
    """Return the hole of the spring's hook, if there is one."""
    at = layout.parts.spring_hook_mm
    return [] if at is None else [BarHole("spring hook", at, HOOK_MM / 2, "parts.spring_hook_mm")]


def coupler_bar(layout: FollowerLayout) -> FlatBar:
    """Return the coupler of a straight-line lever."""
    guide = layout.guide
    assert guide is not None
    holes = (
        turning_hole("joint with the lever", 0.0, JOINT_MM),
        BarHole("output", guide.point_mm, layout.parts.output_hole_mm / 2),
        turning_hole("joint with the guide link", guide.coupler_mm, JOINT_MM, "parts.links[0].mm"),
    )
    return _link(layout, 1, "coupler", holes)


def guide_link_bar(layout: FollowerLayout) -> FlatBar:
    """Return the guide link of a straight-line lever."""
    assert layout.guide is not None
    pivot = turning_hole("pivot", 0.0, layout.parts.pivot_rod_mm)
    joint = turning_hole("joint", layout.guide.guide_mm, JOINT_MM, "parts.links[1].mm")
    return _link(layout, 2, "guide link", (pivot, joint))


def _link(layout: FollowerLayout, number: int, name: str, holes: tuple[BarHole, ...]) -> FlatBar:
    bosses = tuple(hole.boss for hole in holes)
    return FlatBar(
        code=part_code(layout.lane, "G", number),
        label=f"{name} of {layout.lane.label}",
        holes=holes,
        bosses=bosses,
        half_mm=max(radius for _, radius in bosses),
        thickness_mm=layout.parts.thickness_mm,
    )


def slide_bar(layout: FollowerLayout) -> FlatBar:
    """Return a lane's slide; raises FollowerLayoutError for a knife edge or a hook beyond its output."""
    parts, half = layout.parts, half_width_mm(layout.lane)
    holes = [
        BarHole("output", parts.arm_mm, parts.output_hole_mm / 2, "parts.arm_mm"),
        BarHole("roller", 0.0, axle_mm(layout) / 2),
        *_hook(layout),
    ]
    if parts.spring_hook_mm is not None and parts.spring_hook_mm > parts.arm_mm:
        told = f"{part_code(layout.lane, 'S')}: the spring hook is beyond the output"
        raise FollowerLayoutError(told, "parts.spring_hook_mm", None)
    return FlatBar(
        code=part_code(layout.lane, "S"),
        label=f"slide of {layout.lane.label}",
        holes=tuple(holes),
        bosses=tuple((hole.at_mm, half) for hole in holes),
        half_mm=half,
        thickness_mm=parts.thickness_mm,
        count=len(layout.bands.levers),
        width=BODY_WIDTH,
    )


BARS: dict[str, tuple[Callable[[FollowerLayout], FlatBar], ...]] = {
    "slide": (slide_bar,),
    "lever": (lever_bar,),
    "straight-line": (lever_bar, coupler_bar, guide_link_bar),
}
"""The bars of a follower by the kind of its parts."""
